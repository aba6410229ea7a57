"""Every word has room: in a longer language, at 100 and 200 % text, in a window of 1280 by 720.

The text sizes are those of WCAG 2.1, success criterion 1.4.4: words up to 200 % lose nothing.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import pytest
from PySide6.QtCore import QPoint, QRect, QSizeF, Qt
from PySide6.QtWidgets import (
    QApplication,
    QCheckBox,
    QComboBox,
    QDialog,
    QLabel,
    QPushButton,
    QTableWidget,
    QWidget,
)
from pytestqt.qtbot import QtBot

from app_help import Answers, found, ladder_document, rested, square_document, wait_until, window_on
from fit_help import clipped, longer, longer_words, settled
from loopwright.app.dialogs import ChoiceDialog
from loopwright.app.help import shortcuts_html
from loopwright.app.look import dress, make_look
from loopwright.app.map_colours import Question
from loopwright.app.opening import Opened
from loopwright.app.parts import Choice, button
from loopwright.app.place_tabs import PLACES
from loopwright.app.sheet import ReadingSheet
from loopwright.app.wrapping import WrapCheck, WrapTool
from loopwright.model.document import Document

SMALL = (1280, 720)
DIALOGS = ("card", "compare", "why", "trade_off", "rider", "preferences", "background",
           "find_command", "targets")  # fmt: skip


def plan_a_season(opened: Opened) -> None:
    season = opened.window.season
    season.today = season.form._today = lambda: date(2031, 3, 3)
    season.form.race_name.setText("Invented Cup")
    opened.window.do("plan_season")


def open_everything(opened: Opened, qtbot: QtBot) -> list[str]:
    """Go through places, panels and dialogs; give what is clipped in any."""
    window, faults = opened.window, []
    plan_a_season(opened)
    for place in ("ground", "loops", "laps", "season"):
        window.go(place)
        wait_until(qtbot, lambda: rested(opened))
        settled()
        faults += [f"{place}: {fault}" for fault in clipped(window)]
    window.go("loops")
    assert opened.desk.terrain is not None
    opened.desk.select([s.id for s in opened.desk.terrain.network.stretches[:1]])
    settled()
    faults += [f"chosen: {fault}" for fault in clipped(window)]
    for name in DIALOGS:
        window.do(name)
        wait_until(qtbot, lambda: rested(opened) and bool(dialogs(window)))
        settled()
        for dialog in dialogs(window):
            faults += [f"{name}: {fault}" for fault in clipped(dialog)]
            assert dialog.width() <= SMALL[0]
            assert dialog.height() <= max(SMALL[1], window.screen().availableSize().height())
            dialog.close()
        settled()
    return faults


def area(widget: QWidget) -> float:
    return float(widget.width() * widget.height())


def key_area(opened: Opened) -> float:
    """Square pixels of the map under its key, the most over all questions of colour."""
    view, most = opened.window.map_pane.map, 0.0
    for question in Question:
        opened.window.map_pane.asked.emit(question)
        settled()
        view.viewport().repaint()
        kept = view.front._key
        size = kept[1].deviceIndependentSize() if kept else QSizeF()
        most = max(most, size.width() * size.height())
    return most


def empty_document() -> Document:
    return Document(name="New area")


MAP_SHARE = 0.6
"""Of the window, at the usual text size, with column and profile shown."""


def map_shares(opened: Opened, qtbot: QtBot) -> dict[str, float]:
    """Share of the window its map has in each place, with column and profile in view."""
    window, shares = opened.window, {}
    for place in PLACES:
        window.go(place)
        wait_until(qtbot, lambda: rested(opened))
        settled()
        beside = (window.bar, window.tabs, window.left, window.profile, window.words_bar)
        assert all(part.isVisible() for part in beside)
        seen = window.map_pane.map.viewport()
        here = QRect(seen.mapTo(window, QPoint()), seen.size())
        for part in beside:
            assert not here.intersects(QRect(part.mapTo(window, QPoint()), part.size()))
        assert (window.width(), window.height()) == SMALL
        shares[place] = area(seen) / area(window)
    return shares


@pytest.mark.parametrize("document", [ladder_document, empty_document], ids=["loops", "empty"])
def test_a_small_window_gives_most_to_its_map(
    qtbot: QtBot, document: Callable[[], Document]
) -> None:
    with window_on(document(), size=SMALL) as opened:
        wait_until(qtbot, lambda: rested(opened))
        shares = map_shares(opened, qtbot)
        assert {place for place, share in shares.items() if share < MAP_SHARE} == set()
        assert len(shares) == len(PLACES)
        assert opened.window.words_bar.next.isVisible()
        assert opened.window.bar.height() <= 1.2 * opened.window.menus.height()  # one line
        assert opened.window.profile.plot().height() >= 36  # three heights still read
        assert len({tab.mapTo(opened.window, QPoint()).y()
                    for tab in opened.window.tabs.places.values()}) == 1  # fmt: skip


def test_where_a_person_parts_map_and_profile_it_stays(qtbot: QtBot) -> None:
    with window_on(ladder_document(), size=SMALL) as opened:
        wait_until(qtbot, lambda: found(opened))
        settled()
        window = opened.window
        window.right.setSizes([400, window.right.height() - 400])
        window.right.splitterMoved.emit(400, 1)
        window.resize(1300, 720)
        settled()
        assert abs(window.right.sizes()[0] - 400) <= 2


def test_a_folded_column_leaves_the_places_in_reach(qtbot: QtBot) -> None:
    with window_on(ladder_document(), size=SMALL) as opened:
        wait_until(qtbot, lambda: found(opened))
        window = opened.window
        wide = window.map_pane.width()
        window.do("fold")
        settled()
        assert window.map_pane.width() == window.width() > wide
        assert window.tabs.isVisible()
        window.tabs.places["laps"].click()
        assert window.place == "laps"
        window.do("fold")
        settled()
        assert window.map_pane.width() == wide
        assert window.left.isAncestorOf(window.tabs)
        assert clipped(window) == []


@pytest.mark.parametrize(
    ("wide", "bare", "lines"),
    [(1600, set(), 1), (1280, {"undo", "redo"}, 1),
     (1100, {"undo", "redo", "save", "find_command"}, 1), (900, set(), 2)],
)  # fmt: skip
def test_tools_give_way_in_order(qtbot: QtBot, wide: int, bare: set[str], lines: int) -> None:
    """First words of tools that have a picture; then the menus get a line of their own."""
    with window_on(empty_document(), size=(wide, 720)) as opened:
        settled()
        bar, only = opened.window.bar, Qt.ToolButtonStyle.ToolButtonIconOnly
        assert [name for name, tool in bar.tools.items() if tool.isHidden()] == []
        assert {n for n, tool in bar.tools.items() if tool.toolButtonStyle() is only} == bare
        assert round(bar.height() / bar.menus.height()) == lines
        assert clipped(bar) == []


def dialogs(window: QWidget) -> list[QDialog]:
    return [d for d in window.findChildren(QDialog) if d.isVisible()]


@pytest.mark.parametrize("scale", [1.0, 2.0])
def test_a_longer_language_fits_everywhere(qtbot: QtBot, scale: float) -> None:
    with longer_words(), window_on(ladder_document(), size=SMALL) as opened:
        wait_until(qtbot, lambda: found(opened))
        look = make_look("light", scale=scale)
        dress(application(), look)
        opened.window.dress(look)
        settled()
        assert (opened.window.width(), opened.window.height()) == SMALL
        assert open_everything(opened, qtbot) == []
        assert opened.window.map_pane.width() >= 0.6 * opened.window.width()
        assert key_area(opened) <= 0.21 * area(opened.window.map_pane)


@pytest.mark.parametrize("scale", [1.0, 2.0])
def test_the_tables_of_laps_fit(qtbot: QtBot, scale: float) -> None:
    with longer_words(), window_on(square_document(), size=SMALL, scale=scale) as opened:
        wait_until(qtbot, lambda: rested(opened) and opened.desk.terrain is not None)
        opened.window.go("laps")
        opened.window.do("keep_circuit")
        wait_until(qtbot, lambda: rested(opened) and opened.desk.ridden.sheet is not None)
        settled()
        assert clipped(opened.window) == []
        opened.window.do("tag_this_ride")
        wait_until(qtbot, lambda: rested(opened))
        settled()
        assert clipped(opened.window) == []


def test_the_first_time_visitor_sees_every_word(qtbot: QtBot) -> None:
    """The empty area, its panel over the map and the places that have nothing yet."""
    empty = Document(name="New area")
    with longer_words(), window_on(empty, size=SMALL, scale=2.0) as opened:
        for place in ("ground", "loops", "laps", "season"):
            opened.window.go(place)
            wait_until(qtbot, lambda: rested(opened))
            settled()
            assert opened.window.map_pane.empty.isVisible()
            assert [(place, fault) for fault in clipped(opened.window)] == []


def narrow(widget: QWidget, wide: int, high: int = 60) -> list[str]:
    """Put a widget where it has little room, and give what is found."""
    outer = QWidget()
    widget.setParent(outer)
    widget.setGeometry(0, 0, wide, high)
    outer.resize(400, 400)
    outer.show()
    settled()
    found_ = clipped(outer)
    outer.close()
    outer.deleteLater()
    return found_


def test_every_kind_of_clipped_word_is_seen(qtbot: QtBot) -> None:
    words = "Words that take more room than there is here"
    wrapped = QLabel(words)
    wrapped.setWordWrap(True)
    box, table = QComboBox(), QTableWidget(1, 1)
    box.addItem(words)
    table.setHorizontalHeaderLabels([words])
    table.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    for widget in (QLabel(words), wrapped, QPushButton(words), QCheckBox(words), box, table):
        assert narrow(widget, 60, 20), type(widget)
    assert narrow(QLabel("far right"), 500) == ["QLabel outside its parent: 'far right'"]


def test_our_own_buttons_wrap_and_say_how_high_they_must_be(qtbot: QtBot) -> None:
    words = "Words that take more room than there is here"
    tool = WrapTool()
    tool.setText(words)
    for push in (button(words, int), WrapCheck(words), tool):
        least = push.minimumSizeHint().width()
        need = push.heightForWidth(least)
        assert need > 3 * push.fontMetrics().lineSpacing()
        assert narrow(push, least, need) == []
        assert narrow(push, least, need - 12)
    choice = Choice()
    choice.addItem(words)
    assert choice.toolTip() == words
    choice.setFixedWidth(60)
    assert narrow(choice, 60) == []


def test_longer_words_keep_gaps_and_marks() -> None:
    assert longer("{n} of <b>{all}</b>") == "{n} öf <b>{all}</b>~~"
    assert len(longer("Where riders slow down, and why")) >= 1.4 * 31


def test_sheets_show_words_and_no_marks(qtbot: QtBot) -> None:
    """What is written as HTML is read as HTML, on a sheet that fits the screen and scrolls."""
    dress(application(), make_look("light"))
    window = QWidget()
    window.resize(*SMALL)
    sheet = ReadingSheet(window, "Shortcuts", shortcuts_html(), wide=600)
    sheet.show()
    settled()
    told = sheet.words.toPlainText()
    assert "Loop card" in told
    assert "<" not in told.replace("Ctrl+<", "")
    assert sheet.height() <= max(SMALL[1], window.screen().availableSize().height())
    assert sheet.words.verticalScrollBar().maximum() > 0
    sheet.close()
    sheet.deleteLater()
    window.deleteLater()


def test_help_on_the_screen_is_read_as_html(qtbot: QtBot) -> None:
    answers = Answers()
    with window_on(ladder_document(), answers=answers) as opened:
        wait_until(qtbot, lambda: found(opened))
        opened.window.do("cautions")
        assert "<li>" in answers.shown[0]


def test_colours_name_themselves_in_a_longer_language(qtbot: QtBot) -> None:
    with longer_words(), window_on(ladder_document(), size=SMALL) as opened:
        wait_until(qtbot, lambda: found(opened))
        box = opened.window.map_pane.colours
        names = [box.itemText(n) for n in range(box.count())]
        assert len(names) == len(Question)
        assert all("~" in name for name in names)


def application() -> QApplication:
    running = QApplication.instance()
    assert isinstance(running, QApplication)
    return running


def test_a_question_with_few_answers_has_a_button_for_each(qtbot: QtBot) -> None:
    dress(application(), make_look("light", scale=2.0))
    parent = QWidget()
    qtbot.addWidget(parent)
    words = longer("3 rides lie over 150 km away: one map cannot hold both places.")
    answers = [longer("Save an area of their own…"), longer("Leave them out")]
    dialog = ChoiceDialog(parent, "Another place", words, answers)
    dialog.show()
    settled()
    assert clipped(dialog) == []
    assert dialog.width() <= SMALL[0]
    pushes = {push.text(): push for push in dialog.findChildren(QPushButton)}
    pushes[answers[1]].click()
    assert dialog.picked == 1
    dress(application(), make_look("light"))
