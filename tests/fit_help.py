"""What of a window's words does not fit, and a language that is longer than English.

A language of accents and 40 % more letters stands in for translations: the usual allowance for
sentences in design for translation (common practice, no single source; from memory).
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from PySide6.QtCore import QCoreApplication, Qt, QTranslator
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractSpinBox,
    QApplication,
    QComboBox,
    QGroupBox,
    QHeaderView,
    QLabel,
    QLineEdit,
    QScrollArea,
    QSplitter,
    QStyle,
    QStyleOptionComboBox,
    QTabBar,
    QTableWidget,
    QWidget,
)

from loopwright.app.top_bar import Elided

ACCENTS = str.maketrans("aeiouAEIOUcnsy", "áéïöüÁÉÏÖÜçñšý")
KEPT = re.compile(r"(\{[^}]*\}|<[^>]*>|&[a-z]+;)")
LONGER = 1.4
SHORTEST_WORD, USUAL_WORD = 4, 7
SLACK_PX = 2


def longer(sentence: str) -> str:
    """Accent every word and add letters in words of a usual length; gaps and marks stay."""
    parts = KEPT.split(sentence)
    bare = sum(len(p) for p in parts if not KEPT.fullmatch(p))
    if not bare:
        return sentence
    words = "".join(p if KEPT.fullmatch(p) else p.translate(ACCENTS) for p in parts)
    added = max(1, round((LONGER - 1) * bare))
    if added < SHORTEST_WORD:
        return words + "~" * added
    more = ["~" * min(USUAL_WORD, added - n) for n in range(0, added, USUAL_WORD)]
    return " ".join((words, *more))


class Longer(QTranslator):
    """A language whose every sentence is longer and accented, to find what does not fit."""

    def translate(
        self,
        context: str,
        sourceText: str,  # noqa: N803 - Qt's own names
        disambiguation: str | None = None,  # noqa: ARG002 - Qt gives it
        n: int = -1,  # noqa: ARG002 - Qt gives it
    ) -> str:
        if context != "loopwright" or not sourceText:
            return ""
        return longer(sourceText)


@contextmanager
def longer_words() -> Iterator[None]:
    """Speak the longer language for a while."""
    translator = Longer()
    QCoreApplication.installTranslator(translator)
    try:
        yield
    finally:
        QCoreApplication.removeTranslator(translator)


def clipped(root: QWidget) -> list[str]:
    """Name every visible text below ``root`` that has less room than it takes."""
    return [
        f"{type(w).__name__} {how}: {w.accessibleName() or text_of(w)!r}"
        for w in root.findChildren(QWidget)
        if w.isVisible() and w.width() > 0
        for how in faults(w)
    ]


def text_of(widget: QWidget) -> str:
    told = getattr(widget, "text", None)
    return str(told()) if callable(told) else ""


def faults(widget: QWidget) -> list[str]:
    found = [] if inside(widget) else ["outside its parent"]
    for kind, check in CHECKS:
        if isinstance(widget, kind):
            found += check(widget)
    return found


def inside(widget: QWidget) -> bool:
    """Tell whether a widget lies in its parent; what scrolls may lie anywhere."""
    parent = widget.parentWidget()
    if parent is None or widget.isWindow() or scrolls(parent) or isinstance(parent, QSplitter):
        return True
    box = widget.geometry()
    return (
        box.left() >= -SLACK_PX and box.top() >= -SLACK_PX
        and box.right() <= parent.width() + SLACK_PX
        and box.bottom() <= parent.height() + SLACK_PX
    )  # fmt: skip


def scrolls(parent: QWidget) -> bool:
    """Tell whether a widget is what a scroll area looks through: only its width must do."""
    return parent.objectName().startswith("qt_scrollarea")


def label_faults(words: QLabel) -> list[str]:
    if isinstance(words, Elided) or not words.text():
        return []
    metrics = words.fontMetrics()
    longest = max((metrics.horizontalAdvance(word) for word in words.text().split()), default=0)
    if words.wordWrap():
        low = words.height() + SLACK_PX < words.heightForWidth(words.width())
        thin = words.width() + SLACK_PX < longest
        return ["too low"] * low + ["a word too wide"] * thin
    return ["too narrow"] * (
        words.width() + SLACK_PX < metrics.horizontalAdvance(words.text().split("\n")[0])
    )


def button_faults(push: QAbstractButton) -> list[str]:
    if not push.text():
        return []
    if push.hasHeightForWidth():
        need = push.heightForWidth(push.width())
        thin = push.width() + SLACK_PX < push.minimumSizeHint().width()
    else:
        need, thin = push.sizeHint().height(), push.width() + SLACK_PX < push.sizeHint().width()
    return ["too low"] * (push.height() + SLACK_PX < need) + ["too narrow"] * thin


def combo_faults(box: QComboBox) -> list[str]:
    option = QStyleOptionComboBox()
    box.initStyleOption(option)
    room = box.style().subControlRect(
        QStyle.ComplexControl.CC_ComboBox, option, QStyle.SubControl.SC_ComboBoxEditField, box
    )
    wide = box.fontMetrics().horizontalAdvance(box.currentText())
    if wide <= room.width() + SLACK_PX:
        return []
    box.grab()  # what is out of view has not been painted yet, and tells its tip when it is
    if box.currentText() in box.toolTip():
        return []
    return ["too narrow and without a tip"]


def spin_faults(box: QAbstractSpinBox) -> list[str]:
    return ["too narrow"] * (box.width() + SLACK_PX < box.minimumSizeHint().width())


def line_faults(field: QLineEdit) -> list[str]:
    if isinstance(field.parentWidget(), (QAbstractSpinBox, QComboBox)):
        return []
    wide = field.fontMetrics().horizontalAdvance(field.placeholderText())
    return ["hint too wide"] * (
        field.width() < wide and field.placeholderText() not in field.toolTip()
    )


def head_faults(head: QHeaderView) -> list[str]:
    if head.orientation() is not Qt.Orientation.Horizontal:
        return []
    return [
        f"head {n} too narrow"
        for n in range(head.count())
        if not head.isSectionHidden(n)
        and head.sectionSize(n) + SLACK_PX < head.sectionSizeFromContents(n).width()
    ]


def table_faults(table: QTableWidget) -> list[str]:
    wide = sum(table.columnWidth(n) for n in range(table.columnCount()))
    off = table.horizontalScrollBarPolicy() is Qt.ScrollBarPolicy.ScrollBarAlwaysOff
    return ["columns beyond its edge"] * (off and wide > table.viewport().width() + SLACK_PX)


def tab_faults(bar: QTabBar) -> list[str]:
    return ["tabs elided"] * (bar.width() + SLACK_PX < bar.sizeHint().width())


def group_faults(box: QGroupBox) -> list[str]:
    return ["title too wide"] * (box.width() < box.minimumSizeHint().width())


def area_faults(area: QScrollArea) -> list[str]:
    """Contents that are wider than what is looked through, or squeezed into it."""
    inner = area.widget()
    off = area.horizontalScrollBarPolicy() is Qt.ScrollBarPolicy.ScrollBarAlwaysOff
    if inner is not None and inner.minimumSizeHint().width() > inner.width():
        return [f"contents squeezed by {', '.join(squeezed(inner))}"]
    return ["contents too wide"] * (
        inner is not None and off and inner.width() > area.viewport().width() + SLACK_PX
    )


def squeezed(area: QWidget) -> list[str]:
    """Name what is below ``area`` and needs more than its width."""
    return [
        f"{type(w).__name__} {w.minimumSizeHint().width()} {w.accessibleName() or text_of(w)!r}"
        for w in area.findChildren(QWidget)
        if w.isVisible() and w.minimumSizeHint().width() > area.width()
    ]


CHECKS: tuple[tuple[type[QWidget], Callable[[Any], list[str]]], ...] = (
    (QLabel, label_faults),
    (QAbstractButton, button_faults),
    (QComboBox, combo_faults),
    (QAbstractSpinBox, spin_faults),
    (QLineEdit, line_faults),
    (QHeaderView, head_faults),
    (QTableWidget, table_faults),
    (QTabBar, tab_faults),
    (QGroupBox, group_faults),
    (QScrollArea, area_faults),
)


def settled() -> None:
    """Let layouts come to rest."""
    application = QCoreApplication.instance()
    assert isinstance(application, QApplication)
    for _ in range(4):
        application.processEvents()
