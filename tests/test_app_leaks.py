"""What watches for things left behind after each test of the window sees each kind of them."""

from __future__ import annotations

from collections.abc import Callable
from threading import Event, Thread

import pytest
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication, QDialog
from pytestqt.qtbot import QtBot

from app_help import assert_nothing_left


def left_timer() -> Callable[[], None]:
    timer = QTimer()
    timer.start(10_000)
    return timer.stop


def left_dialog() -> Callable[[], None]:
    dialog = QDialog()
    return dialog.deleteLater


def left_thread() -> Callable[[], None]:
    end = Event()
    thread = Thread(target=end.wait, name="loopwright-left", daemon=True)
    thread.start()

    def stop() -> None:
        end.set()
        thread.join()

    return stop


@pytest.mark.parametrize("leave", [left_timer, left_dialog, left_thread])
def test_what_is_left_behind_is_seen(qtbot: QtBot, leave: Callable[[], Callable[[], None]]) -> None:
    application = QApplication.instance()
    assert isinstance(application, QApplication)
    assert_nothing_left(application)
    clean_up = leave()
    with pytest.raises(AssertionError):
        assert_nothing_left(application)
    clean_up()
    assert_nothing_left(application)
