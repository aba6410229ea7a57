"""Finding commands, the sheet of shortcuts, and about.

Gets the window's actions; gives a search box over them and sheets to read. Promises: all of it is
made from the one table of actions.
"""

from __future__ import annotations

from collections.abc import Callable
from html import escape

from PySide6.QtCore import QEvent, QObject, QSize, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QDialog, QLineEdit, QListWidget, QListWidgetItem, QVBoxLayout

from loopwright import __version__
from loopwright.app.actions import COMMANDS, MENUS
from loopwright.app.cautions import cautions_html
from loopwright.app.sheet import fit_screen
from loopwright.app.window import Window
from loopwright.app.words import say


class CommandSearch(QDialog):
    """Type a few letters, press Enter."""

    def __init__(self, window: Window) -> None:
        super().__init__(window)
        self._window = window
        self.setWindowTitle(say("Find a command"))
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.field = QLineEdit()
        self.field.setPlaceholderText(say("Type what you want to do"))
        self.field.setAccessibleName(say("Find a command"))
        self.field.textChanged.connect(self._show)
        self.field.returnPressed.connect(self.choose)
        self.field.installEventFilter(self)
        self.list = QListWidget()
        self.list.setAccessibleName(say("Commands"))
        self.list.itemActivated.connect(lambda _item: self.choose())
        lines = QVBoxLayout(self)
        lines.addWidget(self.field)
        lines.addWidget(self.list)
        fit_screen(self, QSize(window.look.px(460), window.look.px(380)))
        self._show("")
        self.field.setFocus()

    def _show(self, typed: str) -> None:
        self.list.clear()
        for command in COMMANDS:
            words = f"{say(command.words)}"
            where = say(command.menu)
            if matches(typed, f"{words} {where}") and command.id != "find_command":
                keys = f"    {command.keys}" if command.keys else ""
                item = QListWidgetItem(f"{words}    {where}{keys}")
                item.setData(Qt.ItemDataRole.UserRole, command.id)
                if not self._window.actions_by_id[command.id].isEnabled():
                    item.setFlags(Qt.ItemFlag.NoItemFlags)
                self.list.addItem(item)
        self._first()

    def _first(self) -> None:
        for place in range(self.list.count()):
            if self.list.item(place).flags() & Qt.ItemFlag.ItemIsEnabled:
                self.list.setCurrentRow(place)
                return

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Let up and down move through the list while typing."""
        if watched is self.field and isinstance(event, QKeyEvent) and (
            event.type() == QEvent.Type.KeyPress
        ):  # fmt: skip
            step = {Qt.Key.Key_Down.value: 1, Qt.Key.Key_Up.value: -1}.get(event.key())
            if step is not None:
                place = self.list.currentRow() + step
                self.list.setCurrentRow(min(self.list.count() - 1, max(0, place)))
                return True
        return super().eventFilter(watched, event)

    def choose(self) -> None:
        """Do the command in focus."""
        item = self.list.currentItem()
        if item is not None and item.flags() & Qt.ItemFlag.ItemIsEnabled:
            name = str(item.data(Qt.ItemDataRole.UserRole))
            self.close()
            self._window.do(name)


def matches(typed: str, words: str) -> bool:
    """Tell whether every typed part occurs in the words, whatever the order."""
    low = words.casefold()
    return all(part in low for part in typed.casefold().split())


def shortcuts_html() -> str:
    """Give the sheet of shortcuts, menu by menu."""
    parts = [f"<h3>{say('Shortcuts')}</h3>"]
    for menu in MENUS:
        rows = [c for c in COMMANDS if c.menu == menu and c.keys]
        if rows:
            cells = "".join(
                f"<tr><td>{escape(say(c.words)).rstrip('…')}</td>"
                f"<td>&nbsp;&nbsp;<b>{escape(c.keys)}</b></td></tr>"
                for c in rows
            )
            parts.append(f"<p><b>{escape(say(menu))}</b></p><table>{cells}</table>")
    return "".join(parts)


def about_html() -> str:
    """Say what the program is."""
    return say(
        "<h3>Loopwright {version}</h3><p>Practice loops for cross-country mountain-bike racing, "
        "built from your own recorded rides.</p><p>Nothing leaves this machine.</p>"
        "<p>MIT licence. Set in Noto Sans (SIL Open Font Licence). Colours: Okabe and Ito 2008; "
        "vik of Crameri's Scientific colour maps.</p>",
        version=__version__,
    )


def doings(window: Window) -> dict[str, Callable[[], object]]:
    """Say what the help actions do."""
    show = window.dialogs.show
    return {
        "find_command": lambda: CommandSearch(window).show(),
        "shortcuts": lambda: show(say("Sheet of shortcuts"), shortcuts_html()),
        "cautions": lambda: show(say("Before you ride"), cautions_html()),
        "about": lambda: show(say("About Loopwright"), about_html()),
    }
