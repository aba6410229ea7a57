"""The window does its work on real rooms: build, find, undo, wrong files, leaving."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from pytestqt.qtbot import QtBot

from app_help import (
    WISHES,
    Answers,
    found,
    ladder_document,
    rested,
    wait_until,
    window_on,
)
from loopwright import edits
from loopwright.app.dialogs import Leave
from loopwright.io.area_file import AreaLock, load_area, save_area
from loopwright.model.document import Document


def test_rides_become_trails_and_a_loop_in_view(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        wait_until(qtbot, lambda: found(opened))
        desk = opened.desk
        assert desk.terrain is not None
        assert len(desk.terrain.network.stretches) >= 6
        assert desk.result is not None
        assert desk.result.proven
        assert desk.course is not None
        assert WISHES.min_length_m <= desk.course.length_m <= WISHES.max_length_m
        assert desk.document.found
        assert not desk.workspace.dirty


def test_changed_wishes_search_again_and_undo_finds_the_old_answer_ready(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        wait_until(qtbot, lambda: found(opened))
        first = opened.desk.result
        longer = replace(WISHES, min_length_m=700.0)
        opened.desk.apply("longer", lambda document: edits.set_wishes(document, longer))
        wait_until(qtbot, lambda: found(opened) and opened.desk.result is not first)
        opened.window.do("undo")
        assert opened.desk.result is first
        opened.window.do("redo")
        assert opened.desk.result is not first


def test_a_wrong_file_is_one_sentence_and_the_window_lives_on(qtbot: QtBot, tmp_path: Path) -> None:
    junk = tmp_path / "photo.jpg"
    junk.write_bytes(b"\xff\xd8\xff no ride in here")
    answers = Answers(files=[junk])
    with window_on(ladder_document(), answers=answers) as opened:
        wait_until(qtbot, lambda: found(opened))
        opened.window.do("import")
        wait_until(qtbot, lambda: bool(opened.desk.trouble))
        assert "photo.jpg" in opened.desk.trouble
        assert "\n" not in opened.desk.trouble
        assert opened.window.words_bar.known.text() == opened.desk.trouble
        assert opened.desk.terrain is not None
        opened.window.do("next_loop")
        wait_until(qtbot, lambda: rested(opened))


def test_a_damaged_area_leaves_the_open_one(qtbot: QtBot, tmp_path: Path) -> None:
    bad = tmp_path / "bad.loopwright"
    bad.write_bytes(b"PK not really")
    with window_on(ladder_document(), answers=Answers(file=bad)) as opened:
        wait_until(qtbot, lambda: found(opened))
        before = opened.desk.document
        opened.window.do("open")
        wait_until(qtbot, lambda: bool(opened.desk.trouble))
        assert opened.desk.document is before


def test_save_and_open_again(qtbot: QtBot, tmp_path: Path) -> None:
    target = tmp_path / "mine.loopwright"
    answers = Answers(target=target, word="Tuesday loop")
    with window_on(ladder_document(), answers=answers) as opened:
        wait_until(qtbot, lambda: found(opened))
        opened.window.do("keep")
        assert opened.desk.workspace.dirty
        opened.window.do("save")
        wait_until(qtbot, lambda: not opened.desk.workspace.dirty)
        answers.file = target
        opened.window.do("open")
        wait_until(qtbot, lambda: rested(opened))
        assert [loop.name for loop in opened.desk.document.kept] == ["Tuesday loop"]
    assert [loop.name for loop in load_area(target).kept] == ["Tuesday loop"]


def test_leaving_asks_about_unsaved_work(qtbot: QtBot, tmp_path: Path) -> None:
    target = tmp_path / "kept.loopwright"
    answers = Answers(leaving=Leave.STAY, target=target, word="Mine")
    with window_on(ladder_document(), answers=answers) as opened:
        wait_until(qtbot, lambda: found(opened))
        opened.window.do("keep")
        assert not opened.window.close()
        answers.leaving = Leave.SAVE
        assert opened.window.close()
    assert target.exists()


def test_an_empty_area_says_what_to_do_first(qtbot: QtBot) -> None:
    with window_on(Document(name="New area")) as opened:
        window = opened.window
        assert window.map_pane.empty.isVisible()
        assert window.map_pane.import_button.text() == "Import rides…"
        assert window.words_bar.next.isVisible()


def test_an_area_open_elsewhere_is_told(qtbot: QtBot, tmp_path: Path) -> None:
    path = tmp_path / "one.loopwright"
    save_area(ladder_document(), path)
    with AreaLock(path), window_on(Document(name="a"), answers=Answers(file=path)) as opened:
        opened.window.do("open")
        wait_until(qtbot, lambda: bool(opened.desk.trouble))
        assert "another" in opened.desk.trouble
        assert opened.desk.document.name == "a"
