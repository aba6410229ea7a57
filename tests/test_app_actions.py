"""The table of actions holds together, and everything made from it shows it."""

from __future__ import annotations

from collections import Counter

from PySide6.QtGui import QKeySequence
from PySide6.QtWidgets import QMenu
from pytestqt.qtbot import QtBot

from app_help import ladder_document, window_on
from loopwright.app.actions import BY_ID, COMMANDS, CONDITIONS, MENUS, TOOL_BAR
from loopwright.app.help import CommandSearch, matches, shortcuts_html
from loopwright.app.place_tabs import PLACES


def test_ids_are_unique_and_menus_known() -> None:
    assert len(BY_ID) == len(COMMANDS)
    assert {c.menu for c in COMMANDS} <= set(MENUS)
    assert set(TOOL_BAR) <= set(BY_ID)


def test_conditions_are_known() -> None:
    assert {c.when for c in COMMANDS} <= set(CONDITIONS)


def test_every_action_has_a_shortcut_of_its_own(qtbot: QtBot) -> None:
    keys = Counter(QKeySequence(c.keys).toString() for c in COMMANDS if c.keys)
    assert [key for key, times in keys.items() if times > 1] == []
    assert [c.id for c in COMMANDS if not QKeySequence(c.keys).toString()] == []


def test_every_action_does_something_and_stands_in_a_menu(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        window = opened.window
        known = set(window._doings) | set(PLACES)
        assert set(BY_ID) - known == set()
        in_menus = {
            action.text() for menu in window.menus.findChildren(QMenu) for action in menu.actions()
        }
        assert {window.actions_by_id[c.id].text() for c in COMMANDS} <= in_menus


def test_the_sheet_lists_every_shortcut() -> None:
    sheet = shortcuts_html()
    assert [c.keys for c in COMMANDS if c.keys and c.keys.replace("&", "&amp;") not in sheet] == []


def test_search_finds_by_parts_in_any_order() -> None:
    assert matches("rid imp", "Import rides")
    assert matches("", "anything")
    assert not matches("laps", "Import rides")


def test_command_search_does_the_command(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        search = CommandSearch(opened.window)
        search.show()
        search.field.setText("ground place")
        search.choose()
        assert opened.window.place == "ground"
