"""Windows in predicted seconds, and passes kept apart, against every loop of small networks."""

from __future__ import annotations

import random

import numpy as np
import pytest

from loops_help import question_of, random_terrain, terrain_of
from loops_reference import every_loop
from loopwright.loops import find_loops
from loopwright.loops.further import Further, LapTimes
from loopwright.loops.head_on import head_on_pairs
from loopwright.model.ids import Arc, StretchId, Way
from loopwright.model.wishes import Mix

MIX = Mix(name="small", targets={"climb_gain_m": 40.0, "corners": 8.0, "steady_m": 300.0})


@pytest.mark.parametrize("seed", range(8))
def test_a_window_in_seconds_is_kept_and_priced(seed: int) -> None:
    terrain = random_terrain(seed, 11, parallel=2, one_way=0.1, passages=0.4)
    draw = random.Random(seed)
    seconds = {
        (s, way): length / draw.uniform(2.5, 7.0)
        for s, length in terrain.lengths_m.items()
        for way in Way
    }
    times = LapTimes(seconds=seconds, low_s=150.0, high_s=500.0)
    wide = question_of(MIX, low_m=1.0, high_m=1e6)
    scores = []
    for loop in every_loop(terrain, wide):
        spent = sum(seconds[arc] for arc in loop.arcs)
        if times.low_s <= spent <= times.high_s:
            scores.append(100.0 * loop.match - 10.0 * spent / times.high_s)
    result = find_loops(terrain, wide, further=Further(times=times))
    assert result.proven
    assert [loop.score for loop in result.loops] == pytest.approx([max(scores)] if scores else [])


def test_a_window_in_seconds_must_rise() -> None:
    with pytest.raises(ValueError, match="from a shorter to a longer time"):
        LapTimes(seconds={}, low_s=9.0, high_s=3.0)


@pytest.mark.parametrize("seed", range(8))
def test_arcs_kept_apart_are_never_in_one_loop(seed: int) -> None:
    terrain = random_terrain(seed, 11, parallel=2)
    draw = random.Random(seed)
    arcs: list[Arc] = [(s.id, way) for s in terrain.network.stretches for way in Way]
    apart = frozenset((draw.choice(arcs), draw.choice(arcs)) for _ in range(12))
    apart = frozenset(pair for pair in apart if pair[0] != pair[1])
    question = question_of(MIX, low_m=500.0, high_m=3000.0)
    legal = [
        loop.score
        for loop in every_loop(terrain, question)
        if not any({one, other} <= set(loop.arcs) for one, other in apart)
    ]
    result = find_loops(terrain, question, further=Further(apart=apart))
    assert result.proven
    assert [x.score for x in result.loops] == pytest.approx([max(legal)] if legal else [], abs=1e-6)


def test_parallel_trails_are_kept_from_meeting_head_on() -> None:
    spots = np.array([[0.0, 0.0], [300.0, 0.0], [0.0, 4.0], [300.0, 4.0], [0.0, 200.0]])
    ends = [(0, 1), (3, 2), (0, 4)]
    rng = np.random.default_rng(1)
    terrain = terrain_of(rng, spots, np.zeros(5), ends, [300.0, 300.0, 200.0])
    one, other = StretchId("s0000"), StretchId("s0001")
    pairs = {frozenset(pair) for pair in head_on_pairs(terrain, within_m=8.0)}
    assert pairs == {
        frozenset({(one, Way.FORWARD), (other, Way.FORWARD)}),
        frozenset({(one, Way.BACKWARD), (other, Way.BACKWARD)}),
    }
    assert head_on_pairs(terrain, within_m=2.0) == frozenset()
