"""Plain tables: words left, figures right, units once in the head.

Gets heads and rows of words; gives a read-only table as high as its rows. Promises: cells never
edit, rows can be chosen by keyboard.
"""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableWidget, QTableWidgetItem

from loopwright.app.parts import tip

MOST_ROWS = 14
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
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setTabKeyNavigation(False)
        head = self.horizontalHeader()
        for column in range(len(heads)):
            mode = QHeaderView.ResizeMode
            head.setSectionResizeMode(
                column, mode.Stretch if column == wide else mode.ResizeToContents
            )
            item = QTableWidgetItem(heads[column])
            item.setTextAlignment(self._side(column))
            self.setHorizontalHeaderItem(column, item)

    def _side(self, column: int) -> Qt.AlignmentFlag:
        side = Qt.AlignmentFlag
        return (side.AlignLeft if column in self._left else side.AlignRight) | side.AlignVCenter

    def let_shrink(self, least: int) -> None:
        """Let the table take what room there is, from ``least`` pixels up, and scroll the rest."""
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
        self.resizeRowsToContents()
        if 0 <= now < len(rows):
            self.selectRow(now)
        self.blockSignals(blocked)
        shown = min(MOST_ROWS, max(1, len(rows)))
        high = sum(self.rowHeight(n) for n in range(min(shown, len(rows)))) or 24
        self.setFixedHeight(high + self.horizontalHeader().sizeHint().height() + 6)
