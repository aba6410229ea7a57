"""A search that answers the same again disturbs nothing: same loops, same course, same numbers."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from pytestqt.qtbot import QtBot

from app_help import found, ladder_document, rested, wait_until, window_on
from loopwright.app.away import search_here
from loopwright.jobs import Report, Silent
from loopwright.loops import built_in_mixes, find_loops
from loopwright.loops.further import FREE
from loopwright.loops.warm import triangle_pair
from loopwright.model.course import Course
from loopwright.model.document import Document
from loopwright.model.loops import SavedLoop
from loopwright.model.wishes import Mix, Question, Wishes
from loopwright.places import saved_loops

MIX = Mix(name="made up", targets={"corners": 50.0})
LINE = np.array([[0.0, 1.0, np.nan], [0.1, 1.0, 5.0], [0.0, 1.0, np.nan]])
LOOP = SavedLoop(name="loop 1", line=LINE, wishes=Wishes(mix=MIX), score=9.0, match=0.5, rank=1)


def test_searched_again_the_loops_in_hand_stay() -> None:
    assert LOOP.equals(replace(LOOP, line=LINE.copy()))
    assert not LOOP.equals(replace(LOOP, line=LINE + 1e-6))
    assert not LOOP.equals(replace(LOOP, rank=2))
    assert not LOOP.equals(replace(LOOP, wishes=Wishes(mix=built_in_mixes()[0])))


def test_the_same_answer_again_keeps_loop_course_and_plan(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        desk = opened.desk
        wait_until(qtbot, lambda: found(opened))
        wait_until(qtbot, lambda: all(desk.facts.of(c.loop) for c in desk.candidates))
        before = (*(c.loop for c in desk.candidates), desk.course, desk.plan)
        numbers = [desk.facts.of(c.loop) for c in desk.candidates]
        terrain, result = desk.terrain, desk.result
        assert terrain is not None
        assert result is not None
        fresh = saved_loops(terrain, desk.wishes, result.loops)
        assert not any(c.loop is loop for c, loop in zip(desk.candidates, fresh, strict=True))
        desk._searched(terrain, desk.wishes, result, fresh)
        wait_until(qtbot, lambda: found(opened))
        after = (*(c.loop for c in desk.candidates), desk.course, desk.plan)
        assert len(after) > 2
        assert all(a is b for a, b in zip(before, after, strict=True))
        again = [desk.facts.of(c.loop) for c in desk.candidates]
        assert all(a is b for a, b in zip(numbers, again, strict=True))


def test_what_the_worker_is_asked_is_the_search() -> None:
    question = Question(wishes=Wishes(mix=MIX, min_length_m=200.0, max_length_m=900.0, count=2))
    here = search_here(triangle_pair(), question, FREE, Silent())
    plain = find_loops(triangle_pair(), question)
    assert here.proven
    assert [loop.arcs for loop in here.loops] == [loop.arcs for loop in plain.loops]


def test_who_stops_what_runs_still_sees_the_loop_shown(
    qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    with window_on(ladder_document()) as opened:
        wait_until(qtbot, lambda: found(opened))
        desk, unroll, asked = opened.desk, opened.desk.rooms.course, list[SavedLoop]()

        def course(document: Document, loop: SavedLoop, report: Report) -> Course:
            asked.append(loop)
            while len(asked) == 1:
                report.check()
            return unroll(document, loop, report)

        monkeypatch.setattr(desk.rooms, "course", course)
        loop = desk.candidates[0].loop
        desk.show_loop(None)
        desk.show_loop(loop)
        wait_until(qtbot, lambda: len(asked) == 1)
        desk.jobs.cancel("course")
        wait_until(qtbot, lambda: desk.course is not None and rested(opened))
        assert asked == [loop, loop]
