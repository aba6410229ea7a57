"""The part of a ride a person is asked about, for whoever shows it.

Gets a line in local metres, tells that it changed. Promises: nothing else.
"""

from __future__ import annotations

from PySide6.QtCore import QObject, Signal

from loopwright.model.arrays import Floats


class Asked(QObject):
    """``xy`` ``(n, 2)`` as ridden, or None while nothing is asked."""

    changed = Signal()

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.xy: Floats | None = None

    def show(self, xy: Floats | None) -> None:
        """Ask about a line, or about nothing any more."""
        if xy is not self.xy:
            self.xy = xy
            self.changed.emit()
