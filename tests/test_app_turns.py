"""Work of the window's own is done in pieces, and the window answers between them."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from time import perf_counter

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from app_help import found, ladder_document, rested, wait_until, window_on
from loopwright.app.map_colours import Question
from loopwright.app.turns import LATE_S, PIECE_S, Turns


def test_pieces_are_done_in_order_and_each_once(qtbot: QtBot) -> None:
    turns = Turns()
    done: list[str] = []
    for name in ("a", "b", "a", "c"):
        turns.soon(partial(done.append, name), key=name)
    assert done == []
    assert turns.waiting
    qtbot.waitUntil(lambda: not turns.waiting)
    assert done == ["a", "b", "c"]


def test_a_long_work_lets_others_in_between(qtbot: QtBot) -> None:
    turns, told = Turns(), []

    def long() -> Iterator[None]:
        for _ in range(3):
            until = perf_counter() + 1.5 * PIECE_S
            while perf_counter() < until:
                pass
            told.append("piece")
            yield

    QTimer.singleShot(0, lambda: told.append("answer"))
    turns.go_through(long(), key="long")
    assert told == ["piece"]
    qtbot.waitUntil(lambda: not turns.waiting)
    assert told.index("answer") < 3
    assert told.count("piece") == 3


def test_a_turn_behind_something_long_lets_others_go_first(qtbot: QtBot) -> None:
    turns, told = Turns(), []

    def long() -> None:
        told.append("long")
        until = perf_counter() + 2 * LATE_S
        while perf_counter() < until:
            pass
        QTimer.singleShot(0, lambda: told.append("answer"))

    QTimer.singleShot(0, long)
    turns.soon(lambda: told.append("turn"))
    qtbot.waitUntil(lambda: "turn" in told)
    assert told == ["long", "answer", "turn"]


def test_what_is_seen_is_done_at_once_and_the_rest_when_it_comes_into_view(qtbot: QtBot) -> None:
    turns, widget, done = Turns(), QWidget(), []
    qtbot.addWidget(widget)

    def work() -> None:
        done.append(1)

    slot = turns.in_view_first(widget, work)
    slot()
    slot()
    assert done == []
    turns.hurry(work)
    turns.hurry(work)
    assert done == [1]
    widget.show()
    slot()
    assert done == [1, 1]


def test_after_the_end_nothing_is_done(qtbot: QtBot) -> None:
    turns, done = Turns(), []
    turns.soon(lambda: done.append(1))
    turns.close()
    turns.soon(lambda: done.append(2))
    qtbot.wait(5)
    assert done == []


def test_the_map_keeps_its_lines_until_the_new_ones_are_there(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        wait_until(qtbot, lambda: found(opened))
        ground, terrain = opened.window.map_pane.map.ground, opened.desk.terrain
        before = ground.pens
        steps = ground._draw(terrain, Question.PASSES)
        next(steps)
        assert ground.pens is before  # one piece is drawn, and nothing of it shows
        opened.window.map_pane.map.ask(Question.CERTAINTY)
        wait_until(qtbot, lambda: rested(opened))
        assert {pen.words for pen in ground.pens} != {pen.words for pen in before}
