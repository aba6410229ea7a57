"""A list of sentences: they wrap, and the list is as high as its first rows.

Gets words a row, gives the row in focus. Promises: no row is cut at its end; a long list scrolls.
"""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QAbstractItemView, QListView, QListWidget


class WordList(QListWidget):
    """Sentences one under the other, ``shown`` rows of them without scrolling."""

    def __init__(self, name: str, *, shown: int) -> None:
        super().__init__()
        self._shown = shown
        self.setAccessibleName(name)
        self.setWordWrap(True)
        self.setResizeMode(QListView.ResizeMode.Adjust)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)

    def fit_height(self) -> None:
        """Be as high as the rows at this width; call it when the rows have changed."""
        rows = range(min(self._shown, self.count()))
        high = sum(self.sizeHintForRow(row) for row in rows) or self.fontMetrics().height()
        self.setFixedHeight(high + 2 * self.frameWidth() + 4)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Wrap anew."""
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self.fit_height()
