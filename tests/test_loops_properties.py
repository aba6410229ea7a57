"""What must hold of every answer, on odd little networks that hypothesis thinks up.

Rings, parallel stretches, stretches of 3 m, one-ways, equal lengths: whatever comes. The bound is
never below the true best, also when the search is stopped at once.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loops_help import question_of, terrain_of
from loops_reference import every_loop_with_repeats
from loopwright.loops import find_loops
from loopwright.loops.legal import faults_of
from loopwright.model.ground import Terrain
from loopwright.model.wishes import Mix, Question

MIX = Mix(
    name="odd", targets={"climb_gain_m": 30.0, "corners": 5.0, "steady_m": 200.0},
    weights={"corners": 1.5},
)  # fmt: skip


@st.composite
def terrains(draw: st.DrawFn) -> Terrain:
    spots = draw(st.integers(2, 5))
    count = draw(st.integers(2, 6))
    node = st.integers(0, spots - 1)
    ends = draw(st.lists(st.tuples(node, node), min_size=count, max_size=count))
    size = st.sampled_from([3.0, 12.0, 100.0, 100.0, 150.0, 333.3, 700.0])
    lengths = draw(st.lists(size, min_size=count, max_size=count))
    rng = np.random.default_rng(draw(st.integers(0, 999)))
    points = rng.random((spots, 2)) * 500
    return terrain_of(
        rng, points, rng.random(spots) * 60, ends, lengths,
        one_way=draw(st.sampled_from([0.0, 0.3])), passages=0.4, banned=0.1,
    )  # fmt: skip


@st.composite
def questions(draw: st.DrawFn, terrain: Terrain) -> Question:
    high = draw(st.sampled_from([300.0, 700.0, 1000.0, 1500.0]))
    low = high * draw(st.sampled_from([0.01, 0.5, 1.0]))
    question = question_of(MIX, low_m=low, high_m=high)
    names = [s.id for s in terrain.network.stretches]
    if draw(st.booleans()):
        question = replace(question, must=frozenset({draw(st.sampled_from(names))}))
    if draw(st.booleans()):
        question = replace(question, avoid=frozenset({draw(st.sampled_from(names))}))
    if draw(st.booleans()):
        spots = [j.id for j in terrain.network.junctions]
        question = replace(question, start_at=draw(st.sampled_from(spots)))
    return question


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_best_bound_and_rules_hold(data: st.DataObject) -> None:
    terrain = data.draw(terrains())
    question = data.draw(questions(terrain))
    loops = [loop.score for loop in every_loop_with_repeats(terrain, question)]
    result = find_loops(terrain, question)
    assert result.proven
    if not loops:
        assert result.loops == ()
        return
    assert result.loops[0].score == pytest.approx(max(loops), abs=1e-6)
    assert result.bound >= max(loops) - 1e-9
    assert faults_of(terrain, question, result.loops[0].arcs) == ()


@settings(max_examples=25, deadline=None)
@given(st.data())
def test_repeats_are_priced_and_counted(data: st.DataObject) -> None:
    terrain = data.draw(terrains())
    asked = question_of(MIX, low_m=10.0, high_m=data.draw(st.sampled_from([300.0, 600.0])))
    question = replace(asked, wishes=replace(asked.wishes, repeats=data.draw(st.integers(1, 2))))
    loops = [loop.score for loop in every_loop_with_repeats(terrain, question)]
    result = find_loops(terrain, question)
    assert result.proven
    assert [x.score for x in result.loops[:1]] == pytest.approx(
        [max(loops)] if loops else [], abs=1e-6
    )
    for loop in result.loops:
        assert faults_of(terrain, question, loop.arcs) == ()


class StopAfter:
    """A report that asks to stop once it has been asked ``times`` times."""

    def __init__(self, times: int) -> None:
        self.left = times

    def step(self, share: float, words: str) -> None: ...

    def best(self, result: object) -> None: ...

    def check(self) -> None: ...

    def cancelled(self) -> bool:
        self.left -= 1
        return self.left < 0


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_a_stopped_search_still_tells_the_truth(data: st.DataObject) -> None:
    terrain = data.draw(terrains())
    question = data.draw(questions(terrain))
    loops = list(every_loop_with_repeats(terrain, question))
    best = max((loop.score for loop in loops), default=-1e9)
    report = StopAfter(data.draw(st.integers(0, 12)))
    result = find_loops(terrain, question, report=report, workers=1)
    assert result.bound >= best - 1e-9
    if result.proven:
        assert result.loops[0].score >= best - 0.01 if loops else result.loops == ()
    for kind, most in result.most.items():
        assert most >= max((x.amounts.get(kind, 0.0) for x in loops), default=0.0) - 1e-6
    for loop in result.loops:
        assert faults_of(terrain, question, loop.arcs) == ()
