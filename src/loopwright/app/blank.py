"""Paper where the map will be, while the window is on its way up.

Gets nothing; tells when it was first painted.
"""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtGui import QPaintEvent
from PySide6.QtWidgets import QWidget


class Blank(QWidget):
    """Paper where the map will be; tells when it was first painted."""

    painted = Signal()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Tell, after the frame, that the window is up."""
        super().paintEvent(event)
        self.painted.emit()
