"""The target mix as sliders: what is wanted, what the loop has, the most the ground offers.

Gets a mix, the amounts of the loop in view and an upper bound per kind; gives changed mixes.
Promises: dragging shows at once and is one named step when let go; the keyboard does the same.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import (
    QGridLayout,
    QSizePolicy,
    QSlider,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from loopwright.app.kinds import OFFERED, Kind, kind
from loopwright.app.look import Look
from loopwright.app.parts import Choice, label
from loopwright.app.plain_text import bare_label, tip
from loopwright.app.words import say
from loopwright.model.wishes import Mix

SETTLE_MS = 350
"""Keys and wheel settle this long before the change counts as one step."""
MOST_STEPS = 400


class AmountSlider(QSlider):
    """A slider whose track shows what the loop has and the most any loop could have."""

    def __init__(self, look: Look) -> None:
        super().__init__(Qt.Orientation.Horizontal)
        self.look = look
        self.have = 0.0
        self.most: float | None = None
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def sizeHint(self) -> QSize:
        """Room for the handle."""
        return QSize(160, self.look.px(20))

    def show_amounts(self, have: float, most: float | None) -> None:
        """Show amounts in slider steps."""
        self.have, self.most = have, most
        self.update()

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint track, amount, limit and handle."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        theme = self.look.theme
        knob = self.look.px(8)
        left, wide = knob + 1.0, self.width() - 2.0 * (knob + 1)
        middle = self.height() / 2
        thick = self.look.px(6)

        def x(value: float) -> float:
            return left + wide * min(1.0, max(0.0, value / max(self.maximum(), 1)))

        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QColor(theme.rule))
        painter.drawRoundedRect(QRectF(left, middle - thick / 2, wide, thick), 3, 3)
        painter.setBrush(QColor(theme.accent))
        have = x(self.have) - left
        painter.drawRoundedRect(QRectF(left, middle - thick / 2, have, thick), 3, 3)
        if self.most is not None:
            painter.setPen(QPen(QColor(theme.ink), 2))
            at = x(self.most)
            painter.drawLine(QPointF(at, middle - thick), QPointF(at, middle + thick))
        focus = self.hasFocus()
        painter.setPen(QPen(QColor(theme.accent if focus else theme.ink), 3 if focus else 1.5))
        painter.setBrush(QColor(theme.paper))
        painter.drawEllipse(QRectF(x(self.value()) - knob, middle - knob, 2 * knob, 2 * knob))
        painter.end()


class MixRow(QWidget):
    """One wanted kind."""

    changed = Signal()
    removed = Signal(str)

    def __init__(self, what: Kind, want: float, look: Look) -> None:
        super().__init__()
        self.kind, self.look = what, look
        self._have = 0.0
        self._most: float | None = None
        self.name = label(what.name)
        self.numbers = bare_label()
        self.numbers.setProperty("role", "faint")
        self.numbers.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self.slider = AmountSlider(look)
        self.slider.setAccessibleName(say("{kind} wanted", kind=what.name))
        self._fit_range(want)
        self.slider.valueChanged.connect(self._moved)
        self._lay_out()
        self._tell()

    def _lay_out(self) -> None:
        away = QToolButton()
        away.setText("×")  # noqa: RUF001 - a cross to take the row away
        away.setProperty("quiet", True)  # noqa: FBT003 - Qt's own setter
        away.setAccessibleName(say("Do not ask for {kind}", kind=self.kind.name))
        away.setToolTip(away.accessibleName())
        away.clicked.connect(lambda: self.removed.emit(self.kind.key))
        lines = QGridLayout(self)
        lines.setContentsMargins(0, 0, 0, 0)
        lines.setHorizontalSpacing(6)
        lines.setVerticalSpacing(0)
        lines.setColumnStretch(0, 1)
        lines.addWidget(self.name, 0, 0)
        lines.addWidget(self.numbers, 0, 1)
        lines.addWidget(away, 0, 2)
        lines.addWidget(self.slider, 1, 0, 1, 2)

    def _fit_range(self, want: float) -> None:
        step = self.kind.step
        top = max(want, self._have, self._most or 0.0) * 1.1
        steps = min(MOST_STEPS, max(10, round(top / step)))
        blocked = self.slider.blockSignals(True)  # noqa: FBT003 - Qt's own setter
        self.slider.setRange(1, max(steps, round(want / step)))
        self.slider.setValue(max(1, round(want / step)))
        self.slider.blockSignals(blocked)

    @property
    def want(self) -> float:
        """Wanted amount."""
        return self.slider.value() * self.kind.step

    def _moved(self) -> None:
        self._tell()
        self.changed.emit()

    def show_amounts(self, have: float, most: float | None) -> None:
        """Show what the loop has and the most there is."""
        self._have, self._most = have, most
        if not self.slider.isSliderDown():
            self._fit_range(self.want)
        self._tell()

    def _tell(self) -> None:
        step, look = self.kind.step, self.look.units
        most = self._most
        self.slider.show_amounts(self._have / step, None if most is None else most / step)
        have, want = (self.kind.amount(value, look) for value in (self._have, self.want))
        self.numbers.setText(say("{have} of {want}", have=have.removesuffix(" m"), want=want))
        words = say("This loop has {have}, you want {want}", have=have, want=want)
        if most is not None:
            limit = self.kind.amount(most, look)
            words = say("{words}; no lap this long has more than {most}", words=words, most=limit)
        self.setToolTip(tip(words))
        self.slider.setAccessibleDescription(words)


class MixRows(QWidget):
    """All wanted kinds, and a way to add one."""

    mixed = Signal(object)
    """The changed mix, once a change has settled."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.rows: list[MixRow] = []
        self._mix: Mix | None = None
        self._settle = QTimer(self)
        self._settle.setSingleShot(True)
        self._settle.setInterval(SETTLE_MS)
        self._settle.timeout.connect(self._settled)
        self.more = Choice()
        self.more.setAccessibleName(say("Also ask for"))
        self.more.activated.connect(self._add)
        self._lines = QVBoxLayout(self)
        self._lines.setContentsMargins(0, 0, 0, 0)
        self._lines.setSpacing(4)
        self.hint = label("", "faint")
        self.hint.setText(
            say("Bar: this loop. Ring: what you want. Tick: the most a lap here can have.")
        )
        self._lines.addWidget(self.hint)
        self._lines.addWidget(self.more)

    def show_mix(self, mix: Mix) -> None:
        """Show a mix; rows are kept while the kinds stay the same."""
        if self._mix is not None and tuple(self._mix.targets) == tuple(mix.targets):
            for row in self.rows:
                if row.want != mix.targets[row.kind.key] and not self._settle.isActive():
                    row._fit_range(mix.targets[row.kind.key])  # noqa: SLF001 - same file
                    row._tell()  # noqa: SLF001 - same file
            self._mix = mix
            return
        self._mix = mix
        self._rebuild(mix)

    def _rebuild(self, mix: Mix) -> None:
        for row in self.rows:
            self._lines.removeWidget(row)
            row.hide()
            row.deleteLater()
        self.rows = []
        for key, want in mix.targets.items():
            row = MixRow(kind(key), want, self.look)
            row.changed.connect(self._changed)
            row.removed.connect(self._remove)
            self._lines.insertWidget(len(self.rows) + 1, row)
            self.rows.append(row)
        self.more.clear()
        self.more.addItem(say("Also ask for…"))
        for key in OFFERED:
            if key not in mix.targets:
                self.more.addItem(kind(key).name, key)

    def dress(self, look: Look) -> None:
        """Take another look."""
        self.look = look
        if self._mix is not None:
            self._rebuild(self._mix)

    def show_amounts(self, have: Mapping[str, float], most: Mapping[str, float]) -> None:
        """Show what the loop in view has, and the most any loop could have."""
        for row in self.rows:
            row.show_amounts(have.get(row.kind.key, 0.0), most.get(row.kind.key))

    def _changed(self) -> None:
        self._settle.start()

    def _settled(self) -> None:
        if self._mix is not None and self.rows:
            targets = {row.kind.key: row.want for row in self.rows}
            self._send(replace(self._mix, targets=targets))

    def _send(self, mix: Mix) -> None:
        if self._mix is not None and mix.targets != self._mix.targets:
            self.mixed.emit(mix)

    def _add(self, place: int) -> None:
        key = self.more.itemData(place)
        if isinstance(key, str) and self._mix is not None:
            self._send(replace(self._mix, targets={**self._mix.targets, key: kind(key).first}))

    def _remove(self, key: str) -> None:
        if self._mix is None or len(self._mix.targets) < 2:
            return
        targets = {k: v for k, v in self._mix.targets.items() if k != key}
        weights = {k: v for k, v in self._mix.weights.items() if k != key}
        self._send(replace(self._mix, targets=targets, weights=weights))
