"""A newcomer's way from recordings to a printed card: once by keyboard, once by mouse alone."""

from __future__ import annotations

from pathlib import Path

from pypdf import PdfReader
from PySide6.QtCore import QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QDropEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QDoubleSpinBox, QWidget
from pytestqt.qtbot import QtBot

from app_help import Answers, found, gpx_files, rested, wait_until, window_on
from loopwright.app.card_dialog import CardDialog
from loopwright.app.opening import Opened
from loopwright.app.place_tabs import PLACES
from loopwright.model.document import Document
from worlds import ladder, rides_over

CONTROL = Qt.KeyboardModifier.ControlModifier


def card_of(opened: Opened) -> CardDialog:
    return opened.window.findChildren(CardDialog)[-1]


def type_into(box: QDoubleSpinBox, words: str) -> None:
    box.setFocus()
    box.selectAll()
    QTest.keyClicks(box, words)
    QTest.keyClick(box, Qt.Key.Key_Return)


def tab_to(window: QWidget, wanted: QWidget) -> int:
    """Press Tab until something has the focus; gives how often."""
    for presses in range(200):
        if QApplication.focusWidget() is wanted:
            return presses
        QTest.keyClick(QApplication.focusWidget() or window, Qt.Key.Key_Tab)
    message = f"{wanted.accessibleName()} is out of reach of the keyboard"
    raise AssertionError(message)


def test_from_recordings_to_a_card_by_keyboard(qtbot: QtBot, tmp_path: Path) -> None:
    answers = Answers(
        files=gpx_files(tmp_path, rides_over(ladder(), rides=5, error_m=1.5, seed=3)),
        target=tmp_path / "card.pdf",
        word="Evening loop",
    )
    with window_on(Document(name="New area"), answers=answers) as opened:
        window, desk = opened.window, opened.desk
        window.activateWindow()
        wait_until(qtbot, window.isActiveWindow)
        QTest.keyClick(window, Qt.Key.Key_I, CONTROL)
        wait_until(qtbot, lambda: desk.terrain is not None and rested(opened))
        QTest.keyClick(window, Qt.Key.Key_2, CONTROL)
        for box, words in ((window.loops.lap.longest, "1.2"), (window.loops.lap.shortest, "0.4")):
            tab_to(window, box)
            type_into(box, words)
        wait_until(qtbot, lambda: found(opened))
        slider = window.loops.rows.rows[0].slider
        tab_to(window, slider)
        QTest.keyClick(slider, Qt.Key.Key_Left)
        wait_until(qtbot, lambda: desk.workspace.undo_label == "Change the mix" and found(opened))
        QTest.keyClick(window, Qt.Key.Key_D, CONTROL)
        assert [loop.name for loop in desk.document.kept] == ["Evening loop"]
        wait_until(qtbot, lambda: desk.course is not None and rested(opened))
        QTest.keyClick(window, Qt.Key.Key_P, CONTROL)
        card = card_of(opened)
        wait_until(qtbot, lambda: bool(card.pages))
        QTest.keyClick(card, Qt.Key.Key_Return)
        wait_until(qtbot, lambda: (tmp_path / "card.pdf").exists() and rested(opened))
        card.close()
    assert "Evening loop" in PdfReader(tmp_path / "card.pdf").pages[0].extract_text()


def test_from_recordings_to_a_card_by_mouse(qtbot: QtBot, tmp_path: Path) -> None:
    answers = Answers(target=tmp_path / "card.pdf", word="Dropped loop")
    paths = gpx_files(tmp_path, rides_over(ladder(), rides=5, error_m=1.5, seed=3))
    with window_on(Document(name="New area"), answers=answers) as opened:
        window, desk = opened.window, opened.desk
        drop(window, paths)
        wait_until(qtbot, lambda: desk.terrain is not None and rested(opened))
        click(window.tabs.places["loops"])
        step_down(window.loops.lap.shortest, 6)
        step_down(window.loops.lap.longest, 8)
        wait_until(qtbot, lambda: found(opened))
        click(window.words_bar.next)
        assert [loop.name for loop in desk.document.kept] == ["Dropped loop"]
        wait_until(qtbot, lambda: desk.course is not None and rested(opened))
        wait_until(qtbot, lambda: window.words_bar.next.text() == "Make the loop card")
        click(window.words_bar.next)
        card = card_of(opened)
        wait_until(qtbot, lambda: bool(card.pages))
        click(card.save)
        wait_until(qtbot, lambda: (tmp_path / "card.pdf").exists() and rested(opened))
        card.close()
    assert len(PdfReader(tmp_path / "card.pdf").pages) == 1


def click(widget: QWidget) -> None:
    QTest.mouseClick(widget, Qt.MouseButton.LeftButton)


def step_down(box: QDoubleSpinBox, times: int) -> None:
    """Click the lower arrow of a box."""
    for _ in range(times):
        spot = QPoint(box.width() - 8, box.height() - 6)
        QTest.mouseClick(box, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier, spot)


def drop(window: QWidget, paths: list[Path]) -> None:
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(path)) for path in paths])
    event = QDropEvent(
        QPointF(300, 300), Qt.DropAction.CopyAction, data, Qt.MouseButton.LeftButton,
        Qt.KeyboardModifier.NoModifier,
    )  # fmt: skip
    window.dropEvent(event)
    assert event.isAccepted()


def test_every_empty_place_says_what_to_do_first(qtbot: QtBot) -> None:
    """No rides yet: one step is offered, on the map and along the bottom, and the column agrees."""
    with window_on(Document(name="New area")) as opened:
        window = opened.window
        said = {"loops": window.loops.told, "laps": window.laps.said}
        for place in PLACES:
            window.go(place)
            wait_until(qtbot, lambda: rested(opened))
            assert window.map_pane.import_button.isVisible()
            assert window.words_bar.next.isVisible()
            assert window.words_bar.next.text() == "Import your recorded rides"
            if place in said:
                assert said[place].isVisible()
                assert said[place].text().startswith("Import")
        assert colours_of(window.profile) > 2


def colours_of(widget: QWidget) -> int:
    """Tell how many colours a widget shows: one is an empty sheet."""
    picture = widget.grab().toImage()
    return len({picture.pixel(x, y) for x in range(0, picture.width(), 2)
                for y in range(0, picture.height(), 2)})  # fmt: skip
