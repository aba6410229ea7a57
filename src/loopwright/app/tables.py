"""Plain tables: words left, figures right, units once in the head.

Gets heads and rows of words; gives a read-only table as high as its rows. Promises: cells never
edit, rows can be chosen by keyboard.
"""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QAbstractItemView, QTableWidget, QTableWidgetItem

from loopwright.app.plain_text import tip

MOST_ROWS = 14
CELL_PX = 12
"""What a cell leaves free at its sides, and some."""
QWIDGETSIZE_MAX = (1 << 24) - 1
"""Qt's own greatest size of a widget."""


class Table(QTableWidget):
    """A read-only table; ``left`` names columns of words."""

    def __init__(
        self, name: str, heads: Sequence[str], *, left: Sequence[int] = (0,), wide: int = 0
    ) -> None:
        super().__init__(0, len(heads))
        self._left = set(left)
        self.setAccessibleName(name)
        self.verticalHeader().hide()
        self.setShowGrid(False)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setTabKeyNavigation(False)
        self._wide, self._shrinks = wide, False
        for column in range(len(heads)):
            item = QTableWidgetItem(heads[column])
            item.setTextAlignment(self._side(column))
            self.setHorizontalHeaderItem(column, item)

    def _side(self, column: int) -> Qt.AlignmentFlag:
        side = Qt.AlignmentFlag
        return (side.AlignLeft if column in self._left else side.AlignRight) | side.AlignVCenter

    def _share_out(self) -> None:
        """Fit columns to their words; the wide one takes what is left, its words wrap."""
        head, wide = self.horizontalHeader(), self._wide
        for column in range(self.columnCount()):
            if column != wide:
                need = max(self.sizeHintForColumn(column), head.sectionSizeHint(column))
                head.resizeSection(column, need)
        others = sum(self.columnWidth(n) for n in range(self.columnCount()) if n != wide)
        left = self.viewport().width() - others
        head.resizeSection(wide, max(left, self._least(), head.sectionSizeHint(wide)))
        self.resizeRowsToContents()
        if not self._shrinks:
            self._fit_height()

    def _least(self) -> int:
        """Give the width of the longest word of the wide column."""
        items = (self.item(row, self._wide) for row in range(self.rowCount()))
        words = {word for item in items if item is not None for word in item.text().split()}
        metrics = self.fontMetrics()
        return max((metrics.horizontalAdvance(word) for word in words), default=0) + CELL_PX

    def _fit_height(self) -> None:
        """Be as high as the rows, or as the first of many."""
        shown = min(MOST_ROWS, max(1, self.rowCount()))
        high = sum(self.rowHeight(n) for n in range(min(shown, self.rowCount()))) or 24
        beyond = self.horizontalHeader().length() > self.viewport().width()
        bar = self.horizontalScrollBar().sizeHint().height() if beyond else 0
        self.setFixedHeight(high + self.horizontalHeader().sizeHint().height() + bar + 6)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Share the width out again."""
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self._share_out()

    def let_shrink(self, least: int) -> None:
        """Let the table take what room there is, from ``least`` pixels up, and scroll the rest."""
        self._shrinks = True
        self.setMinimumHeight(least)
        self.setMaximumHeight(QWIDGETSIZE_MAX)

    def show_rows(self, rows: Sequence[Sequence[str]]) -> None:
        """Show rows; the row in focus stays if it is still there."""
        now = self.currentRow()
        blocked = self.blockSignals(True)  # noqa: FBT003 - Qt's own setter
        self.setRowCount(len(rows))
        for number, row in enumerate(rows):
            for column, words in enumerate(row):
                item = QTableWidgetItem(words)
                item.setTextAlignment(self._side(column))
                item.setToolTip(tip(words))
                self.setItem(number, column, item)
        self._share_out()
        if 0 <= now < len(rows):
            self.selectRow(now)
        self.blockSignals(blocked)
