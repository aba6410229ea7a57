"""The system ends a worker in the middle of its work: one sentence, another worker, go on."""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from app_help import Answers, assert_nothing_left, found, ladder_document, rested, wait_until
from loopwright import edits
from loopwright.app.look import make_look
from loopwright.app.opening import Furniture, Opened
from loopwright.app.remembered import Remembered
from loopwright.app.window import Window
from loopwright.app.worker import Worker
from loopwright.io.preferences import Preferences
from loopwright.model.rider import Rider

pytestmark = pytest.mark.skipif(not hasattr(signal, "SIGSTOP"), reason="needs POSIX signals")


@contextmanager
def window_with_workers() -> Iterator[Opened]:
    """A window whose search and plan run in processes of their own, as a person has it."""
    window = Window(make_look("light"), dialogs=Answers())
    record = Remembered(preferences=Preferences(cautions_seen=True))
    furniture = Furniture(document=ladder_document(), elsewhere=True, remembered=record)
    *_, opened = furniture.put_into(window)
    assert opened is not None
    window.show()
    try:
        yield opened
    finally:
        assert opened.close()
        window.hide()
        window.deleteLater()
    application = QApplication.instance()
    assert isinstance(application, QApplication)
    del opened, window
    assert_nothing_left(application)


def process_of(worker: Worker) -> int:
    process = worker._process
    assert process is not None
    assert process.pid is not None
    return process.pid


def kill_at_work(qtbot: QtBot, opened: Opened, worker: Worker, begin: str) -> int:
    """Hold the process still, begin its work, kill it once it has been asked; gives what it was.

    On a slow machine its preparation may come late and be what is killed. That is told to nobody,
    since the work then runs in another process: the work itself is killed after that.
    """
    for turn in range(2):
        pid = killed_once(qtbot, opened, worker, begin, mass_kg=66.0 - turn)
        wait_until(qtbot, lambda: rested(opened))
        if opened.desk.trouble:
            return pid
        opened.desk.apply("Rider", lambda d: edits.set_rider(d, Rider(mass_kg=68.0)))
        wait_until(qtbot, lambda: found(opened))
    raise AssertionError("a process was killed at work, twice, and nothing was told")


def killed_once(qtbot: QtBot, opened: Opened, worker: Worker, begin: str, *, mass_kg: float) -> int:
    pid = process_of(worker)
    wait_until(qtbot, lambda: not worker._lock.locked())
    os.kill(pid, signal.SIGSTOP)
    if begin == "search":
        opened.window.do("search")
    elif begin == "weigh":
        opened.window.ground.next.ask_outlook()
    else:
        opened.desk.apply("Rider", lambda d: edits.set_rider(d, Rider(mass_kg=mass_kg)))
    wait_until(qtbot, worker._lock.locked)
    os.kill(pid, signal.SIGKILL)
    return pid


def test_killed_at_work_it_is_told_replaced_and_nothing_stays(qtbot: QtBot) -> None:
    with window_with_workers() as opened:
        desk = opened.desk
        wait_until(qtbot, lambda: found(opened))
        opened.window.ground.next.ask_outlook()
        wait_until(qtbot, lambda: rested(opened))
        for begin, worker in zip(("search", "plan", "weigh"), opened.workers, strict=True):
            pid = kill_at_work(qtbot, opened, worker, begin)
            assert desk.trouble == "a helper process: stopped unexpectedly; try again"
            assert not Path(f"/proc/{pid}").exists(), "the process that ended was never collected"
            if begin == "search":
                opened.window.do("search")
            elif begin == "weigh":
                opened.window.ground.next.ask_outlook()
                wait_until(qtbot, lambda: rested(opened))
                assert "best loop" in opened.window.ground.next.outlook_words.text()
                desk.calm()
            else:
                desk.apply("Rider", lambda d: edits.set_rider(d, Rider(mass_kg=67.0)))
            wait_until(qtbot, lambda: found(opened))
            assert process_of(worker) != pid
            assert desk.trouble == ""
