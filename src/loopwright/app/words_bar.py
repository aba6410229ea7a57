"""The words along the bottom, with progress and the next sensible step.

Gets a desk; says what is known, what is going on, and offers the next step as a button. Promises:
work shorter than 0.6 s shows no progress; everything running can be stopped from here.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFrame, QHBoxLayout, QProgressBar, QWidget

from loopwright.app.look import Look
from loopwright.app.plain_text import bare_label
from loopwright.app.words import say
from loopwright.app.wrapping import WrapPush

if TYPE_CHECKING:
    from loopwright.app.desk import Desk

STEPS = 1000


class WordsBar(QFrame):
    """The strip along the bottom of the window."""

    def __init__(self, look: Look, do: Callable[[str], None]) -> None:
        super().__init__()
        self.setProperty("role", "words")
        self.desk: Desk | None = None
        self.look, self._do = look, do
        self.known = bare_label(say("Getting ready"))
        self.known.setWordWrap(True)
        self.known.setAccessibleName(say("What is known"))
        self.doing = bare_label()
        self.doing.setProperty("role", "soft")
        self.bar = QProgressBar()
        self.bar.setRange(0, STEPS)
        self.bar.setTextVisible(False)
        self.bar.setAccessibleName(say("Progress"))
        self.stop = WrapPush(say("Stop"))
        self.stop.setAccessibleName(say("Stop what is running"))
        self.stop.clicked.connect(lambda: do("stop"))
        self.next = WrapPush()
        for push in (self.stop, self.next):
            push.setProperty("slim", True)  # noqa: FBT003 - Qt's own setter
        self.next.setProperty("main", True)  # noqa: FBT003 - Qt's own setter
        self.next.clicked.connect(self._go_on)
        self.work = QWidget()
        self._lay_out()
        for widget in (self.work, self.next):
            widget.hide()

    def listen(self, desk: Desk) -> None:
        """Follow a desk from now on."""
        self.desk = desk
        desk.told.connect(self.refresh)
        desk.jobs.progressed.connect(self.refresh)
        desk.document_changed.connect(lambda _names: self.refresh())
        desk.shown_changed.connect(self.refresh)
        self.refresh()

    def _lay_out(self) -> None:
        line = QHBoxLayout(self)
        line.setContentsMargins(12, 3, 8, 3)
        line.setSpacing(12)
        self.bar.setFixedWidth(self.look.px(140))
        inner = QHBoxLayout(self.work)
        inner.setContentsMargins(0, 0, 0, 0)
        inner.setSpacing(12)
        for widget in (self.doing, self.bar, self.stop):
            inner.addWidget(widget, 0, Qt.AlignmentFlag.AlignVCenter)
        line.addWidget(self.known, 1)
        for part in (self.work, self.next):
            line.addWidget(part, 0, Qt.AlignmentFlag.AlignVCenter)

    def dress(self, look: Look) -> None:
        """Take another look."""
        self.look = look
        self.bar.setFixedWidth(look.px(140))
        self.refresh()

    def refresh(self) -> None:
        """Say what is so now."""
        if self.desk is not None:
            self._say(self.desk)

    def _say(self, desk: Desk) -> None:
        from loopwright.app.said import doing, known, next_step

        words = known(desk, self.look.units)
        if words != self.known.text():
            self.known.setText(words)
        self._show_trouble(trouble=bool(desk.trouble))
        progress = doing(desk)
        if progress is not None:
            if progress[0] != self.doing.text():
                self.doing.setText(progress[0])
            self._advance(round(progress[1] * STEPS))
        step, action = next_step(desk)
        if step != self.next.text():
            self.next.setText(step)
            self.next.setAccessibleName(say("Next step: {step}", step=step))
        for widget, there in ((self.next, bool(action) and progress is None),
                              (self.work, progress is not None)):  # fmt: skip
            if there == widget.isHidden():
                widget.setVisible(there)

    def _advance(self, value: int) -> None:
        """Move the bar; by itself Qt would paint at once, with it all that waits to be painted."""
        if value != self.bar.value():
            self.bar.setUpdatesEnabled(False)
            self.bar.setValue(value)
            self.bar.setUpdatesEnabled(True)

    def _show_trouble(self, *, trouble: bool) -> None:
        role = "warning" if trouble else ""
        if self.known.property("role") != role:
            self.known.setProperty("role", role)
            self.known.style().unpolish(self.known)
            self.known.style().polish(self.known)

    def _go_on(self) -> None:
        from loopwright.app.said import next_step

        action = next_step(self.desk)[1] if self.desk is not None else ""
        if action:
            self._do(action)
