"""The rider and the bike: what targets are reckoned from.

Gets the document's rider; gives a changed one as a named step. Promises: everything may stay empty;
then there are times but no watts.
"""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QDialog,
    QDoubleSpinBox,
    QLineEdit,
    QVBoxLayout,
    QWidget,
)

from loopwright import edits
from loopwright.app.parts import add_field, form, label, save_or_cancel
from loopwright.app.sheet import Scrolled, fit_screen
from loopwright.app.window import Window
from loopwright.app.words import capital, say
from loopwright.model.rider import Rider
from loopwright.pacing.effort import capacity_of, capacity_words, why_no_capacity

THREE_MIN_S, TWELVE_MIN_S = 180.0, 720.0
UNKNOWN = 0.0
"""What a number stands at while it is not known."""
TOOTH = (8, 70)


class RiderDialog(QDialog):
    """The form."""

    def __init__(self, window: Window) -> None:
        super().__init__(window)
        self._window = window
        rider = window.desk.document.rider
        self.setWindowTitle(say("Rider and bike"))
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.form = form()
        self.mass = self._number(say("Rider, kg"), rider.mass_kg, top=200.0)
        self.bike = self._number(say("Bike, kg"), rider.bike_kg, top=40.0)
        self.three = self._number(
            say("Best 3 minutes, watts"), rider.all_out_w.get(THREE_MIN_S, 0.0), top=1000.0
        )
        self.twelve = self._number(
            say("Best 12 minutes, watts"), rider.all_out_w.get(TWELVE_MIN_S, 0.0), top=700.0
        )
        self.power = self._number(
            say("Critical power, watts"), rider.critical_power_w or UNKNOWN, top=700.0
        )
        self.reserve = self._number(
            say("W' above it, kJ"), (rider.w_prime_j or UNKNOWN) / 1000.0, top=100.0
        )
        self.heart = self._number(
            say("Most heart beats a minute"), rider.max_heart_rate_bpm or UNKNOWN, top=250.0,
            decimals=0,
        )  # fmt: skip
        self.wheel = self._number(say("Wheel round, m"), rider.wheel_m, top=3.0, decimals=3)
        self.rings = self._teeth(say("Chainring teeth"), rider.chainrings)
        self.cogs = self._teeth(say("Sprocket teeth"), rider.sprockets)
        hint = say(
            "Give critical power, or all-out means over 3 and 12 minutes, or neither: then there "
            "are times and effort but no watts. 0 means unknown."
        )
        self.follows = label("", "soft")
        self.follows.setAccessibleName(say("What follows for the effort"))
        for box in (self.three, self.twelve, self.power, self.reserve):
            box.valueChanged.connect(lambda _value: self.show_what_follows())
        self.show_what_follows()
        body = QWidget()
        inner = QVBoxLayout(body)
        inner.addLayout(self.form)
        inner.addWidget(self.follows)
        inner.addWidget(label(hint, "faint"))
        lines = QVBoxLayout(self)
        lines.addWidget(Scrolled(body, say("Rider and bike")), 1)
        lines.addWidget(save_or_cancel(self.keep, self.close))
        fit_screen(self, self.sizeHint())

    def _number(self, words: str, value: float, *, top: float, decimals: int = 1) -> QDoubleSpinBox:
        box = QDoubleSpinBox()
        box.setDecimals(decimals)
        box.setRange(0.0, top)
        box.setValue(value)
        add_field(self.form, words, box)
        return box

    def _teeth(self, words: str, teeth: tuple[int, ...]) -> QLineEdit:
        field = QLineEdit(" ".join(str(t) for t in teeth))
        field.setCursorPosition(0)
        add_field(self.form, words, field)
        return field

    def rider(self) -> Rider:
        """Give the rider as entered; impossible values keep what was."""
        before = self._window.desk.document.rider
        powers = {
            seconds: box.value()
            for seconds, box in ((THREE_MIN_S, self.three), (TWELVE_MIN_S, self.twelve))
            if box.value() > 0
        }
        return Rider(
            name=before.name,
            mass_kg=self.mass.value() or before.mass_kg,
            bike_kg=self.bike.value() or before.bike_kg,
            critical_power_w=self.power.value() or None,
            w_prime_j=self.reserve.value() * 1000.0 or None,
            all_out_w=powers,
            wheel_m=self.wheel.value() or before.wheel_m,
            chainrings=teeth_in(self.rings.text()) or before.chainrings,
            sprockets=teeth_in(self.cogs.text()) or before.sprockets,
            max_heart_rate_bpm=self.heart.value() or None,
        )

    def show_what_follows(self) -> None:
        """Say what critical power follows from the numbers, or why none does."""
        rider = self.rider()
        why = why_no_capacity(rider)
        told = why or capacity_words(capacity_of(rider))
        self.follows.setText(capital(told) + ".")

    def keep(self) -> None:
        """Keep the rider."""
        rider = self.rider()
        self._window.desk.apply(say("Change the rider"), lambda d: edits.set_rider(d, rider))
        self.close()


def teeth_in(words: str) -> tuple[int, ...]:
    """Read teeth counts from words, small to large; empty if any is no tooth count."""
    parts = words.replace(",", " ").split()
    if not all(part.isdecimal() and TOOTH[0] <= int(part) <= TOOTH[1] for part in parts):
        return ()
    return tuple(sorted({int(part) for part in parts}))
