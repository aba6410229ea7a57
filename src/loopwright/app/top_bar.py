"""The bar at the top: the menus, the area's name, a few tools and the command search.

Gets a menu bar and the actions; gives buttons for some of them. Promises: buttons do exactly what
the menu entries do; all is in one line where there is room, else the menus have a line of their
own.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from PySide6.QtCore import Qt
from PySide6.QtGui import QAction, QIcon, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QLabel,
    QMenuBar,
    QSizePolicy,
    QToolButton,
    QVBoxLayout,
)

from loopwright.app.actions import BY_ID, TOOL_BAR
from loopwright.app.icons import icon, icon_size
from loopwright.app.look import Look
from loopwright.app.plain_text import tip
from loopwright.app.words import say

GAP_PX = 4
SEARCH = "find_command"
WORDS_GIVE_WAY = (("undo", "redo"), ("save",), (SEARCH,), ("import", "card"))
"""Where there is no room for all words, these tools show their picture alone, first to last."""
GIVE_WAY = ("redo", "undo", "save", "card", "import")
"""Where there is no room for all tools, these go first to last; menus and keys have them too."""
NAME_PX, LEAST_NAME_PX = 184, 72
"""Room the area's name has: before words of tools, and before tools themselves."""


class Elided(QLabel):
    """One line of text, shortened where there is no room; the whole stands in the tool tip."""

    def __init__(self) -> None:
        """Show words as they are, markup and all."""
        super().__init__()
        self.setTextFormat(Qt.TextFormat.PlainText)

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint as much as fits."""
        painter = QPainter(self)
        painter.setPen(self.palette().windowText().color())
        words = painter.fontMetrics().elidedText(
            self.text(), Qt.TextElideMode.ElideRight, self.contentsRect().width()
        )
        flags = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        painter.drawText(self.contentsRect(), int(flags), words)
        painter.end()


class TopBar(QFrame):
    """The top bar."""

    def __init__(
        self,
        look: Look,
        menus: QMenuBar,
        actions: Mapping[str, QAction],
        do: Callable[[str], None],
    ) -> None:
        super().__init__()
        self.setProperty("role", "bar")
        self.look, self.menus, self._actions, self._do = look, menus, actions, do
        self.area = Elided()
        self.area.setProperty("role", "soft")
        self.area.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self.area.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self.area.setContentsMargins(0, 0, 2 * GAP_PX, 0)
        self.tools = {name: self._tool(name) for name in (*TOOL_BAR, SEARCH)}
        self._lay_out()
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)

    def _tool(self, name: str) -> QToolButton:
        command = BY_ID[name]
        tool = QToolButton()
        words = say("Find a command") if name == SEARCH else say(command.words).rstrip("…")
        tool.setProperty("slim", True)  # noqa: FBT003 - Qt's own setter
        tool.setText(words)
        tool.setAccessibleName(words)
        tool.setIcon(self._picture(name))
        tool.setIconSize(icon_size(self.look))
        tool.setToolTip(f"{words} ({command.keys})")
        tool.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        tool.clicked.connect(lambda: self._do(name))
        return tool

    def _picture(self, name: str) -> QIcon:
        return icon("find" if name == SEARCH else BY_ID[name].icon, self.look)

    def _lay_out(self) -> None:
        self.menus.setSizePolicy(QSizePolicy.Policy.Minimum, QSizePolicy.Policy.Preferred)
        self._upper, self._lower = QHBoxLayout(), QHBoxLayout()
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.setSpacing(0)
        for line in (self._upper, self._lower):
            line.setSpacing(GAP_PX)
            whole.addLayout(line)
        self._upper.addWidget(self.menus)
        self._put(self._upper)

    def _put(self, line: QHBoxLayout) -> None:
        """Put name and tools into a line, out of the one they are in."""
        self._line = line
        line.addWidget(self.area, 1)
        for tool in self.tools.values():
            line.addWidget(tool)
        self._upper.setContentsMargins(0, 0, 8 if line is self._upper else 0, 0)
        self._lower.setContentsMargins(8, 0, 8, 2 if line is self._lower else 0)

    def dress(self, look: Look) -> None:
        """Take another look."""
        self.look = look
        for name, tool in self.tools.items():
            tool.setIcon(self._picture(name))
            tool.setIconSize(icon_size(look))
        self._fit()

    def show_area(self, words: str) -> None:
        """Show the area's name, shortened where there is no room."""
        self.area.setText(words)
        self.area.setToolTip(tip(words))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Fit what is in the bar."""
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        """Give menus their own line, drop words of tools, then tools, where there is no room."""
        for name, tool in self.tools.items():
            tool.show()
            self._show_words(name, words=False)
        menus = self.menus.sizeHint().width()
        one = menus + self._need(NAME_PX) <= self.width()
        line, room = (self._upper, self.width() - menus) if one else (self._lower, self.width())
        if line is not self._line:
            self._put(line)
        for name in self.tools:
            self._show_words(name, words=True)
        for names in WORDS_GIVE_WAY:
            if self._need(NAME_PX) <= room:
                break
            for name in names:
                self._show_words(name, words=False)
        for name in GIVE_WAY:
            if self._need(LEAST_NAME_PX) <= room:
                break
            self.tools[name].hide()

    def _need(self, name_px: int) -> int:
        """Give the width that tools and name take, the name shortened to ``name_px``."""
        shown = [tool for tool in self.tools.values() if not tool.isHidden()]
        wide = sum(tool.sizeHint().width() + GAP_PX for tool in shown)
        return wide + self.look.px(name_px) + 16

    def _show_words(self, name: str, *, words: bool) -> None:
        styles, tool = Qt.ToolButtonStyle, self.tools[name]
        if not tool.icon().isNull():
            tool.setToolButtonStyle(
                styles.ToolButtonTextBesideIcon if words else styles.ToolButtonIconOnly
            )

    def refresh(self) -> None:
        """Follow the actions."""
        for name, tool in self.tools.items():
            tool.setEnabled(self._actions[name].isEnabled())
            if name in {"undo", "redo"}:
                tool.setToolTip(tip(f"{self._actions[name].text()} ({BY_ID[name].keys})"))
