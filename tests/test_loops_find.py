"""The front door of the search while the kernels are compiled beside it."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from loops_help import Listener, question_of
from loops_tiny import MIX, F, arcs, ground, name
from loopwright.loops import find as front
from loopwright.loops import find_loops, warm
from loopwright.loops.further import Further
from loopwright.loops.graph import sheet_of
from loopwright.model.ids import JunctionId

ASKED = question_of(MIX, low_m=250.0, high_m=450.0)
TRIANGLE, LARGE = arcs((0, F), (1, F), (2, F)), arcs((1, F), (4, F), (5, F))


class Ending(Listener):
    """Wants to stop once told to."""

    stop = False

    def cancelled(self) -> bool:
        return self.stop


@pytest.fixture
def fresh(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is compiled yet, and nothing is searched afterwards."""
    monkeypatch.setattr(front, "compiled_here", lambda: False)
    monkeypatch.setattr(front, "_search", lambda *_: None)


@pytest.mark.usefixtures("fresh")
def test_compiling_begins_when_the_first_loop_is_shown(monkeypatch: pytest.MonkeyPatch) -> None:
    begun, seen = threading.Event(), list[bool]()

    def compile_() -> None:
        seen.append(threading.current_thread().daemon)  # it must not hold the program open
        begun.set()

    def two(sheet: Any, _tick: Any) -> Iterator[tuple[int, ...]]:
        for arcs_ in (TRIANGLE, LARGE):
            yield tuple(sheet.arcs.index(arc) for arc in arcs_)
            seen.append(begun.wait(5))

    monkeypatch.setattr(front, "_compile", compile_)
    monkeypatch.setattr(front, "quick_loops", two)
    heard = Listener()
    find_loops(ground(), ASKED, report=heard)
    assert seen == [True, True, True]
    assert [[loop.rank for loop in answer.loops] for answer in heard.answers] == [[1], [1]]


@pytest.mark.usefixtures("fresh")
def test_compiling_begins_also_where_no_first_loop_is_found(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    asked, ended = threading.Event(), list[bool]()

    def compile_() -> None:
        asked.clear()
        ended.append(asked.wait(5))  # whether to stop is asked meanwhile

    class Asks(Listener):
        def cancelled(self) -> bool:
            asked.set()
            return False

    monkeypatch.setattr(front, "_compile", compile_)
    monkeypatch.setattr(front, "quick_loops", lambda *_: iter(()))
    assert find_loops(ground(), ASKED, report=Asks()).loops == ()  # only the first is looked for
    assert ended == [True]


@pytest.mark.usefixtures("fresh")
def test_a_single_stretch_there_and_back_has_no_first_loop(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(front, "_compile", lambda: None)
    only = frozenset(name(i) for i in range(1, 6))
    told = find_loops(ground(), replace(ASKED, avoid=only, start_at=JunctionId("j0")))
    assert told.loops == ()


@pytest.mark.usefixtures("fresh")
def test_a_search_is_stopped_while_the_kernels_compile(monkeypatch: pytest.MonkeyPatch) -> None:
    gate, waited, report = threading.Event(), list[bool](), Ending()

    def compile_() -> None:
        report.stop = True
        waited.append(gate.wait(5))

    monkeypatch.setattr(front, "_compile", compile_)
    monkeypatch.setattr(front, "quick_loops", lambda *_: ())
    find_loops(ground(), ASKED, report=report)
    assert waited == []
    gate.set()


def test_compiling_warms_the_search_up(monkeypatch: pytest.MonkeyPatch) -> None:
    warmed: list[int] = []
    monkeypatch.setattr(warm, "warm_up", lambda: warmed.append(1))
    front._compile()
    assert warmed == [1]


def test_a_wish_for_ground_that_is_not_there_is_answered_at_once() -> None:
    told = find_loops(ground(), replace(ASKED, start_at=JunctionId("nowhere")))
    assert (told.loops, told.proven, told.bound) == ((), True, 0.0)
    assert told.most.keys() == MIX.targets.keys()


def test_the_richest_metres_fill_the_lap() -> None:
    """Per metre: 2 in 100 m, then half of what is left of 4 in 400 m."""
    worth, length = np.array([4.0, 2.0]), np.array([400.0, 100.0])
    for cap, want in ((50.0, 1.0), (100.0, 2.0), (300.0, 4.0), (500.0, 6.0), (900.0, 6.0)):
        assert front._fill(worth, length, cap) == pytest.approx(want)


@pytest.mark.parametrize(("repeats", "times"), [(0, 1), (1, 2), (2, 2)])
def test_what_may_be_ridden_again_counts_twice(repeats: int, times: int) -> None:
    rich = replace(ground(), amounts={(name(0), F): {"corners": 3.0}}, passages=())
    wide = question_of(MIX, low_m=1.0, high_m=1e6)
    question = replace(wide, wishes=replace(wide.wishes, repeats=repeats))
    most = front.roughly_most(sheet_of(rich, question, Further()), MIX)
    assert most == pytest.approx({"corners": 3.0 * times, "climb_gain_m": 0.0, "steady_m": 0.0})
