"""Work of the window's own in small pieces, one a turn of the event loop.

Gets pieces of work; does them in order, with the pointer and the keys answered in between.
Promises: a piece asked for again while it waits is done once; nothing is done after the end.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator
from time import perf_counter

from PySide6.QtCore import QObject, QTimer
from PySide6.QtWidgets import QWidget

PIECE_S = 0.006
"""A piece of a longer work goes on for so long: several fit between two frames of a screen."""
LATE_S = 0.008
"""A turn that comes so late stood behind something long, and lets the pointer and keys go first."""


class Turns(QObject):
    """Pieces of work waiting for their turn."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._waiting: dict[Hashable, Callable[[], object]] = {}
        self._closed = self._stood_back = False
        self._due_s = 0.0
        self._next = QTimer(self)
        self._next.setSingleShot(True)
        self._next.timeout.connect(self._do_next)

    def soon(self, work: Callable[[], object], *, key: Hashable = None) -> None:
        """Do ``work`` in a turn of its own; what has the same ``key`` (itself if None) is one."""
        if not self._closed:
            self._waiting[work if key is None else key] = work
            self._ask_for_turn()

    def of(self, work: Callable[[], object]) -> Callable[..., None]:
        """Give a slot that does ``work`` soon, once for however many signals."""
        return lambda *_told: self.soon(work)

    def in_view_first(self, widget: QWidget, work: Callable[[], object]) -> Callable[..., None]:
        """Give a slot that does ``work`` at once while its widget is to be seen, else soon."""
        return lambda *_told: self._now_or_soon(widget, work)

    def _now_or_soon(self, widget: QWidget, work: Callable[[], object]) -> None:
        if widget.isVisible():
            self.forget(work)
            work()
        else:
            self.soon(work)

    def hurry(self, work: Callable[[], object]) -> None:
        """Do ``work`` now, if it waits for its turn."""
        if self._waiting.pop(work, None) is not None:
            work()

    def forget(self, key: Hashable) -> None:
        """Leave undone what waits under a key."""
        self._waiting.pop(key, None)

    def go_through(self, steps: Iterator[object], *, key: Hashable) -> None:
        """Take steps for a moment now, and the rest soon; others of the same ``key`` end."""
        self.forget(key)
        until = perf_counter() + PIECE_S
        for _ in steps:
            if perf_counter() > until:
                self.soon(lambda: self.go_through(steps, key=key), key=key)
                return

    @property
    def waiting(self) -> bool:
        """Tell whether anything is still to be done."""
        return bool(self._waiting)

    def close(self) -> None:
        """Forget what waits, and take no more."""
        self._closed = True
        self._waiting.clear()
        self._next.stop()

    def _ask_for_turn(self) -> None:
        if not self._next.isActive():
            self._due_s = perf_counter()
            self._next.start(0)

    def _do_next(self) -> None:
        self._stood_back = not self._stood_back and perf_counter() - self._due_s > LATE_S
        if self._stood_back:
            self._ask_for_turn()
            return
        key = next(iter(self._waiting), None)
        work = self._waiting.pop(key, None)
        if self._waiting:
            self._ask_for_turn()
        if work is not None:
            work()
