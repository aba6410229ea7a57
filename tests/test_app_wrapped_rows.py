"""Rows of a tree show all their words, in as many lines as the width asks for."""

from __future__ import annotations

from PySide6.QtCore import QRect
from PySide6.QtWidgets import QTreeWidget, QTreeWidgetItem
from pytestqt.qtbot import QtBot

from loopwright.app.wrapped_rows import WrappedRows

WORDS = "Thu 24  training: sprints from corners, 75 min"


def test_rows_are_as_high_as_their_words_ask_for_also_when_narrowed(qtbot: QtBot) -> None:
    tree = QTreeWidget()
    qtbot.addWidget(tree)
    WrappedRows(tree)
    tree.setHeaderHidden(True)
    week, day = QTreeWidgetItem(["week"]), QTreeWidgetItem([WORDS])
    week.addChild(day)
    tree.addTopLevelItem(week)
    tree.expandAll()
    line = tree.fontMetrics().lineSpacing()
    wide = tree.fontMetrics().horizontalAdvance(WORDS)

    def row(width: int) -> QRect:
        tree.resize(width, 300)
        tree.show()
        qtbot.wait(20)
        return tree.visualItemRect(day)

    assert row(wide + 100).height() < 2 * line
    for width in (wide * 2 // 3, wide // 2 + 50):
        room = row(width)
        lines = tree.fontMetrics().boundingRect(
            0, 0, room.width() - 6, 1000, 0x1000, WORDS
        )  # words are broken (Qt::TextWordWrap); Qt leaves 3 pixels on either side
        assert lines.height() >= 2 * line
        assert room.height() >= lines.height()
