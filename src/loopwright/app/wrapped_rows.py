"""Rows of a tree whose words go on below where a line has no more room.

Gets a tree of one column; gives each row the height its words ask for. Promises: rows are measured
again when the column gets another width.
"""

from __future__ import annotations

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QRect, QSize
from PySide6.QtWidgets import QStyledItemDelegate, QStyleOptionViewItem, QTreeView

MOST_PX = 1000
"""No row is so high; Qt breaks no words in a box without a height."""


class WrappedRows(QStyledItemDelegate):
    """Measures the rows of one tree, which Qt by itself takes to be one line high."""

    def __init__(self, tree: QTreeView) -> None:
        super().__init__(tree)
        self._tree = tree
        tree.setWordWrap(True)
        tree.setItemDelegate(self)
        tree.header().sectionResized.connect(tree.scheduleDelayedItemsLayout)

    def sizeHint(
        self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> QSize:
        """Give the size of a row in the width there is."""
        roomy = QStyleOptionViewItem(option)
        width = self._tree.header().sectionSize(0) - self._indent(index)
        roomy.rect = QRect(0, 0, width, MOST_PX)
        return super().sizeHint(roomy, index)

    def _indent(self, index: QModelIndex | QPersistentModelIndex) -> int:
        """Give what stands before the words: a step for each level, one of them for branches."""
        steps = 0
        while index.isValid():
            index, steps = index.parent(), steps + 1
        return steps * self._tree.indentation()
