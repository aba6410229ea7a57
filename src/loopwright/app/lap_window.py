"""The lap asked for: how long or how many minutes, ridden twice or not, passes kept apart.

Gets wishes, gives changed wishes with the name of the change. Promises: a change is told once it
is made, never while the shown values are being set.
"""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtCore import QSignalBlocker, Signal
from PySide6.QtWidgets import (
    QDoubleSpinBox,
    QSpinBox,
    QVBoxLayout,
    QWidget,
)

from loopwright import units
from loopwright.app.parts import Choice, label, row
from loopwright.app.plain_text import bare_label
from loopwright.app.words import say
from loopwright.app.wrapping import WrapCheck
from loopwright.model.wishes import Wishes
from loopwright.units import Units

LONGEST_KM, SHORTEST_KM = 30.0, 0.3
LONGEST_MIN, SHORTEST_MIN = 120.0, 1.0
MINUTE_S = 60.0
EASY_MPS = 4.0
"""A lap window first asked for in minutes is guessed from lengths at this speed, 14 km/h."""
MOST_APART_M = 50
TWICE = 2
"""How many stretches may be ridden again when that is allowed."""


class LapWindow(QWidget):
    """From, to, unit; twice; apart."""

    wished = Signal(str, object)

    def __init__(self) -> None:
        super().__init__()
        self._wishes: Wishes | None = None
        self._units = Units.METRIC
        self.shortest = self._box(say("Shortest lap"))
        self.longest = self._box(say("Longest lap"))
        self.unit = Choice()
        self.unit.setAccessibleName(say("Lap measured in"))
        self.unit.addItems([say("km"), say("minutes")])
        self.twice = WrapCheck(say("A stretch may be ridden twice"))
        self.twice.setToolTip(say("A metre ridden again costs as much as two metres of lap"))
        self.apart = QSpinBox()
        self.apart.setAccessibleName(say("Keep opposite passes apart"))
        self.apart.setRange(0, MOST_APART_M)
        self.apart.setSingleStep(5)
        self.apart.setKeyboardTracking(False)
        self.apart.setSpecialValueText(say("any distance"))
        self.apart.setToolTip(
            say("Trails that run side by side nearer than this are not ridden in opposite ways")
        )
        self._lay_out()
        for box in (self.shortest, self.longest):
            box.valueChanged.connect(lambda _v: self._window_changed())
        self.unit.activated.connect(self._unit_changed)
        self.twice.toggled.connect(self._twice_changed)
        self.apart.valueChanged.connect(self._apart_changed)

    def _box(self, name: str) -> QDoubleSpinBox:
        box = QDoubleSpinBox()
        box.setDecimals(1)
        box.setSingleStep(0.5)
        box.setKeyboardTracking(False)
        box.setAccessibleName(name)
        return box

    def _lay_out(self) -> None:
        lines = QVBoxLayout(self)
        lines.setContentsMargins(0, 0, 0, 0)
        begin, until = bare_label(say("From")), bare_label(say("to"))
        lines.addLayout(row(begin, self.shortest, until, self.longest, self.unit, stretch=4))
        lines.addWidget(self.twice)
        lines.addLayout(row(label(say("Opposite passes apart")), self.apart, stretch=1))

    # -- showing -----------------------------------------------------------------------------

    def show_wishes(self, wishes: Wishes, look: Units) -> None:
        """Show wishes in the units of the look."""
        self._wishes, self._units = wishes, look
        parts = (self.shortest, self.longest, self.unit, self.twice, self.apart)
        blocked = [QSignalBlocker(part) for part in parts]
        miles = look is Units.IMPERIAL
        self.unit.setItemText(0, say("miles") if miles else say("km"))
        self.unit.setCurrentIndex(0 if wishes.lap_s is None else 1)
        low, high = wishes.lap_s or (wishes.min_length_m, wishes.max_length_m)
        for box, value in ((self.shortest, low), (self.longest, high)):
            self._set_range(box)
            box.setValue(value / self._unit)
        self.twice.setChecked(wishes.repeats > 0)
        self.apart.setSuffix(say(" ft") if miles else say(" m"))
        self.apart.setValue(round(wishes.head_on_m / self._apart_unit))
        del blocked

    def _set_range(self, box: QDoubleSpinBox) -> None:
        if self._in_minutes:
            box.setRange(SHORTEST_MIN, LONGEST_MIN)
        else:
            box.setRange(SHORTEST_KM, LONGEST_KM)

    @property
    def _in_minutes(self) -> bool:
        return self._wishes is not None and self._wishes.lap_s is not None

    @property
    def _unit(self) -> float:
        """Metres or seconds of one step of the boxes' value."""
        if self._in_minutes:
            return MINUTE_S
        return units.MILE_M if self._units is Units.IMPERIAL else 1000.0

    @property
    def _apart_unit(self) -> float:
        return units.FOOT_M if self._units is Units.IMPERIAL else 1.0

    # -- changing ----------------------------------------------------------------------------

    def _window_changed(self) -> None:
        if self._wishes is None:
            return
        low, high = sorted((self.shortest.value(), self.longest.value()))
        low, high = round(low * self._unit, 3), round(high * self._unit, 3)
        if self._in_minutes:
            changed = replace(self._wishes, lap_s=(low, high))
        else:
            changed = replace(self._wishes, min_length_m=low, max_length_m=high)
        self.wished.emit(say("Change the lap length"), changed)

    def _unit_changed(self, place: int) -> None:
        wishes = self._wishes
        if wishes is None or (place == 1) == self._in_minutes:
            return
        lap_s = None
        if place == 1:
            low, high = (
                max(1.0, round(metres / EASY_MPS / MINUTE_S)) * MINUTE_S
                for metres in (wishes.min_length_m, wishes.max_length_m)
            )
            lap_s = (low, high)
        self.wished.emit(say("Measure the lap otherwise"), replace(wishes, lap_s=lap_s))

    def _twice_changed(self, on: bool) -> None:  # noqa: FBT001 - a Qt slot
        if self._wishes is not None:
            changed = replace(self._wishes, repeats=TWICE if on else 0)
            self.wished.emit(say("Ride stretches twice"), changed)

    def _apart_changed(self, value: int) -> None:
        if self._wishes is not None:
            changed = replace(self._wishes, head_on_m=value * self._apart_unit)
            self.wished.emit(say("Keep passes apart"), changed)
