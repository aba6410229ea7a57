"""Two windows, one area: nothing saved is written over, nothing kept aside stays behind."""

from __future__ import annotations

from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from app_help import Answers, found, ladder_document, rested, wait_until, window_on
from loopwright.app.dialogs import Leave
from loopwright.errors import WorldError
from loopwright.io.area_file import AreaLock, load_area, save_area
from loopwright.io.autosave import autosave_path
from loopwright.model.document import Document


def test_an_area_open_elsewhere_is_not_saved_over(qtbot: QtBot, tmp_path: Path) -> None:
    theirs = tmp_path / "theirs.loopwright"
    save_area(Document(name="theirs"), theirs)
    with AreaLock(theirs), window_on(ladder_document(), answers=Answers(target=theirs)) as opened:
        wait_until(qtbot, lambda: found(opened))
        opened.window.do("save_as")
        wait_until(qtbot, lambda: bool(opened.desk.trouble))
        assert "another" in opened.desk.trouble
        assert opened.desk.workspace.path is None
    assert load_area(theirs).name == "theirs"


def test_a_window_holds_what_it_saved_until_it_leaves(qtbot: QtBot, tmp_path: Path) -> None:
    first, second = tmp_path / "one.loopwright", tmp_path / "two.loopwright"
    answers = Answers(target=first)
    with window_on(ladder_document(), answers=answers) as opened:
        wait_until(qtbot, lambda: found(opened))
        for target in (first, second, second):
            answers.target = target
            opened.window.do("save_as")
            wait_until(qtbot, lambda: rested(opened))
            assert opened.desk.workspace.path == target
            with pytest.raises(WorldError, match="another"):
                AreaLock(target).acquire()
        AreaLock(first).acquire()
    AreaLock(second).acquire()


def test_an_area_is_held_before_it_is_read(qtbot: QtBot, tmp_path: Path) -> None:
    path = tmp_path / "one.loopwright"
    save_area(ladder_document(), path)
    with window_on(Document(name="a"), answers=Answers(file=path)) as opened:
        for _ in range(2):
            opened.window.do("open")
            wait_until(qtbot, lambda: rested(opened) and opened.desk.workspace.path == path)
            with pytest.raises(WorldError, match="another"):
                AreaLock(path).acquire()
        opened.window.do("new")
        AreaLock(path).acquire()


@pytest.mark.parametrize("leaving", [Leave.SAVE, Leave.DROP])
def test_leaving_leaves_nothing_to_recover(qtbot: QtBot, tmp_path: Path, leaving: Leave) -> None:
    answers = Answers(leaving=leaving, target=tmp_path / "mine", word="Mine")
    with window_on(ladder_document(), answers=answers) as opened:
        wait_until(qtbot, lambda: found(opened))
        opened.files.safe._state = tmp_path
        opened.window.do("keep")
        opened.files.safe.keep()
        wait_until(qtbot, lambda: rested(opened))
        assert autosave_path(None, tmp_path).exists()
        assert opened.window.close()
        assert not autosave_path(None, tmp_path).exists()
    assert (tmp_path / "mine.loopwright").exists() is (leaving is Leave.SAVE)


def test_saving_under_a_name_drops_what_was_kept_without_one(qtbot: QtBot, tmp_path: Path) -> None:
    answers = Answers(target=tmp_path / "mine.loopwright", word="Mine")
    with window_on(ladder_document(), answers=answers) as opened:
        wait_until(qtbot, lambda: found(opened))
        safe = opened.files.safe
        safe._state = tmp_path
        opened.window.do("keep")
        safe.keep()
        wait_until(qtbot, lambda: rested(opened))
        assert safe.found(None) is not None
        opened.window.do("save")
        wait_until(qtbot, lambda: rested(opened))
        assert safe.found(None) is None


def test_what_is_kept_aside_too_late_is_dropped(qtbot: QtBot, tmp_path: Path) -> None:
    with window_on(ladder_document(), answers=Answers(word="Mine")) as opened:
        wait_until(qtbot, lambda: found(opened))
        safe, workspace = opened.files.safe, opened.desk.workspace
        safe._state = tmp_path
        opened.window.do("keep")
        safe.keep()
        workspace.mark_saved(workspace.document, tmp_path / "mine.loopwright")
        wait_until(qtbot, lambda: rested(opened))
        assert safe.found(None) is None
