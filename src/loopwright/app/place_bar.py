"""The bar at the top: the four places, the area's name, a few tools and the command search.

Gets the actions; gives buttons for them. Promises: buttons do exactly what the menu entries do.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from PySide6.QtCore import Qt
from PySide6.QtGui import QAction, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QSizePolicy, QToolButton

from loopwright.app.actions import BY_ID, TOOL_BAR
from loopwright.app.icons import icon, icon_size
from loopwright.app.look import Look
from loopwright.app.parts import tip
from loopwright.app.words import say

GAP_PX = 6
GIVE_WAY = ("redo", "undo", "save", "card", "import")
"""Where there is no room for all tools, these go first to last; menus and keys have them too."""
LEAST_NAME_PX = 72
"""Room the area's name has at least, with the gaps about it."""
PLACES = ("ground", "loops", "laps", "season")


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
            self.text(), Qt.TextElideMode.ElideRight, self.width()
        )
        flags = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        painter.drawText(self.rect(), int(flags), words)
        painter.end()


class PlaceBar(QFrame):
    """The top bar."""

    def __init__(
        self, look: Look, actions: Mapping[str, QAction], do: Callable[[str], None]
    ) -> None:
        super().__init__()
        self.setProperty("role", "bar")
        self.look, self._actions, self._do = look, actions, do
        self.area = Elided()
        self.area.setProperty("role", "soft")
        self.area.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self.area.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self.places = {name: self._place(name) for name in PLACES}
        self.tools = {name: self._tool(name) for name in TOOL_BAR}
        self._lay_out()
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)

    def _place(self, name: str) -> QToolButton:
        tool = QToolButton()
        tool.setProperty("place", True)  # noqa: FBT003 - Qt's own setter
        tool.setCheckable(True)
        tool.setText(say(BY_ID[name].words))
        tool.setAccessibleName(tool.text())
        tool.setToolTip(f"{tool.text()} ({BY_ID[name].keys})")
        tool.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        tool.clicked.connect(lambda: self._do(name))
        return tool

    def _tool(self, name: str) -> QToolButton:
        command = BY_ID[name]
        tool = QToolButton()
        words = say(command.words).rstrip("…")
        tool.setText(words)
        tool.setAccessibleName(words)
        picture = icon(command.icon, self.look)
        if not picture.isNull():
            tool.setIcon(picture)
            tool.setIconSize(icon_size(self.look))
            tool.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
        tool.setToolTip(f"{words} ({command.keys})")
        tool.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        tool.clicked.connect(lambda: self._do(name))
        return tool

    def _lay_out(self) -> None:
        line = QHBoxLayout(self)
        line.setContentsMargins(8, 0, 12, 0)
        line.setSpacing(GAP_PX)
        for place in self.places.values():
            line.addWidget(place)
        line.addWidget(self.area, 1)
        line.addSpacing(12)
        for tool in self.tools.values():
            line.addWidget(tool)
        self.search = QToolButton()
        self.search.setText(say("Find a command"))
        self.search.setAccessibleName(say("Find a command"))
        self.search.setToolTip(f"{self.search.text()} ({BY_ID['find_command'].keys})")
        self._draw_search()
        self.search.clicked.connect(lambda: self._do("find_command"))
        line.addWidget(self.search)

    def _draw_search(self) -> None:
        self.search.setIcon(icon("find", self.look))
        self.search.setIconSize(icon_size(self.look))

    def dress(self, look: Look) -> None:
        """Take another look."""
        self.look = look
        self._draw_search()
        for name, tool in self.tools.items():
            tool.setIcon(icon(BY_ID[name].icon, look))
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
        """Drop the words of tools that have a picture where there is no room, then tools."""
        for tool in self.tools.values():
            tool.show()
        self._show_words(words=True)
        if self._need() > self.width():
            self._show_words(words=False)
        for name in GIVE_WAY:
            if self._need() <= self.width():
                break
            self.tools[name].hide()

    def _need(self) -> int:
        """Give the width that everything shown takes, the area's name shortened."""
        shown = [t for t in (*self.places.values(), *self.tools.values()) if not t.isHidden()]
        wide = sum(t.sizeHint().width() + GAP_PX for t in (*shown, self.search))
        return wide + self.look.px(LEAST_NAME_PX)

    def _show_words(self, *, words: bool) -> None:
        styles = Qt.ToolButtonStyle
        for tool in (*self.tools.values(), self.search):
            if not tool.icon().isNull():
                tool.setToolButtonStyle(
                    styles.ToolButtonTextBesideIcon if words else styles.ToolButtonIconOnly
                )

    def refresh(self) -> None:
        """Follow the actions."""
        for name, place in self.places.items():
            place.setChecked(self._actions[name].isChecked())
        for name, tool in self.tools.items():
            tool.setEnabled(self._actions[name].isEnabled())
            if name in {"undo", "redo"}:
                tool.setToolTip(tip(f"{self._actions[name].text()} ({BY_ID[name].keys})"))
