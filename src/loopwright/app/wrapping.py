"""Buttons whose words go on below where a line has no more room.

Gets words as Qt's own buttons do; gives the same buttons, only never clipped. Promises: with room
enough everything looks as Qt draws it; only a single word longer than the button may be cut; what
only painting needs is loaded with the first paint, not before the window's frame is up.
"""

from __future__ import annotations

from typing import cast

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QFontMetrics, QPaintEvent
from PySide6.QtWidgets import (
    QAbstractButton,
    QCheckBox,
    QPushButton,
    QToolButton,
)


def broken(words: str, metrics: QFontMetrics, room: int) -> str:
    """Break words into lines of at most ``room`` pixels; a word too long stands alone."""
    lines: list[str] = []
    for word in words.split(" "):
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and metrics.horizontalAdvance(longer) <= room:
            lines[-1] = longer
        else:
            lines.append(word)
    return "\n".join(lines)


def _bare(push: QAbstractButton, natural: QSize) -> QSize:
    """Give what a button takes besides its words, from the size it has with them on one line."""
    return natural - push.fontMetrics().size(Qt.TextFlag.TextShowMnemonic.value, push.text())


def _parted(push: QAbstractButton, natural: QSize, width: int) -> str:
    if width >= natural.width():
        return push.text()
    return broken(push.text(), push.fontMetrics(), width - _bare(push, natural).width())


class _Wraps:
    """What a button whose words wrap has beside what Qt gives it."""

    def hasHeightForWidth(self) -> bool:
        """Tell layouts to ask for the height."""
        return True

    def heightForWidth(self, width: int) -> int:
        """Give the height at a width."""
        push = cast("QAbstractButton", self)
        natural = push.sizeHint()
        more = _parted(push, natural, width).count("\n") - push.text().count("\n")
        return natural.height() + push.fontMetrics().lineSpacing() * more

    def minimumSizeHint(self) -> QSize:
        """Give the least room: the longest word."""
        push = cast("QAbstractButton", self)
        natural, metrics = push.sizeHint(), push.fontMetrics()
        widest = max(metrics.horizontalAdvance(word) for word in push.text().split(" "))
        wide = min(natural.width(), widest + _bare(push, natural).width())
        return QSize(wide, natural.height())

    def may_grow(self) -> None:
        """Let layouts give less width and more height."""
        push = cast("QAbstractButton", self)
        policy = push.sizePolicy()
        policy.setHeightForWidth(True)
        policy.setHorizontalPolicy(policy.Policy.Preferred)
        policy.setVerticalPolicy(policy.Policy.Minimum)
        push.setSizePolicy(policy)

    def as_drawn(self) -> str:
        """Give the words in the lines they take."""
        push = cast("QAbstractButton", self)
        return _parted(push, push.sizeHint(), push.width())


def _paint(push: WrapPush | WrapCheck, element: str) -> None:
    from PySide6.QtWidgets import QStyle, QStyleOptionButton, QStylePainter

    option = QStyleOptionButton()
    push.initStyleOption(option)
    option.text = push.as_drawn()
    painter = QStylePainter(push)
    painter.drawControl(QStyle.ControlElement[element], option)
    painter.end()


class WrapPush(_Wraps, QPushButton):
    """A push button whose words wrap."""

    def __init__(self, words: str = "") -> None:
        super().__init__(words)
        self.may_grow()

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint as Qt does, on several lines."""
        _paint(self, "CE_PushButton")


class WrapCheck(_Wraps, QCheckBox):
    """A box to tick whose words wrap."""

    def __init__(self, words: str = "") -> None:
        super().__init__(words)
        self.may_grow()

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint as Qt does, on several lines."""
        _paint(self, "CE_CheckBox")


class WrapTool(_Wraps, QToolButton):
    """A tool button whose words wrap."""

    def __init__(self) -> None:
        super().__init__()
        self.may_grow()

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint as Qt does, on several lines."""
        from PySide6.QtWidgets import QStyle, QStyleOptionToolButton, QStylePainter

        option = QStyleOptionToolButton()
        self.initStyleOption(option)
        option.text = self.as_drawn()
        painter = QStylePainter(self)
        painter.drawComplexControl(QStyle.ComplexControl.CC_ToolButton, option)
        painter.end()
