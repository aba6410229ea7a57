"""Windows in predicted seconds, and passes kept apart, against every loop of small networks."""

from __future__ import annotations

import random
from dataclasses import replace

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


@pytest.mark.parametrize(("low", "high"), [(9.0, 3.0), (0.0, 3.0), (-1.0, 3.0)])
def test_a_window_in_seconds_must_rise_from_above_0(low: float, high: float) -> None:
    with pytest.raises(ValueError, match="from a shorter to a longer time"):
        LapTimes(seconds={}, low_s=low, high_s=high)


def test_a_window_in_seconds_may_be_one_moment() -> None:
    assert LapTimes(seconds={}, low_s=0.5, high_s=0.5).low_s == 0.5


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


def beside(*lines: tuple[tuple[float, float], tuple[float, float]], within_m: float) -> set[str]:
    """Which ways of straight stretches must not be ridden in one lap, as in "0> 1<"."""
    spots = np.array([spot for line in lines for spot in line])
    ends = [(2 * i, 2 * i + 1) for i in range(len(lines))]
    whole = terrain_of(
        np.random.default_rng(1), spots, np.zeros(len(spots)), ends, [1.0] * len(lines)
    )
    straight = tuple(
        replace(s, xy=np.array(line), ele_m=np.zeros(2), std_error_m=np.zeros(2))
        for s, line in zip(whole.network.stretches, lines, strict=True)
    )
    terrain = replace(whole, network=replace(whole.network, stretches=straight))
    mark = {Way.FORWARD: ">", Way.BACKWARD: "<"}
    pairs = head_on_pairs(terrain, within_m=within_m)
    return {" ".join(f"{int(s[1:])}{mark[way]}" for s, way in sorted(pair)) for pair in pairs}


def test_trails_drawn_the_same_way_meet_when_ridden_in_opposite_ways() -> None:
    slanted = ((0.0, 0.0), (200.0, 200.0)), ((3.0, -3.0), (203.0, 197.0))
    assert beside(*slanted, within_m=8.0) == {"0> 1<", "0< 1>"}
    turned = slanted[1][::-1]
    assert beside(slanted[0], turned, within_m=8.0) == {"0> 1>", "0< 1<"}


def test_trails_that_cross_or_touch_do_not_meet_head_on() -> None:
    crossing = ((0.0, 0.0), (200.0, 0.0)), ((100.0, -100.0), (100.0, 100.0))
    assert beside(*crossing, within_m=40.0) == set()


@pytest.mark.parametrize(("long_m", "met"), [(10.0, False), (20.0, True)])
def test_three_points_beside_each_other_are_30_m(long_m: float, *, met: bool) -> None:
    """Points stand every 10 m, each for 10 m of trail; one near two others counts once."""
    lines = ((0.0, 0.0), (long_m, 0.0)), ((0.0, 4.0), (long_m, 4.0))
    for within_m in (8.0, 12.0):
        assert bool(beside(*lines, within_m=within_m)) is met


def test_metres_are_counted_along_the_trail_that_comes_first() -> None:
    """Three points of the long one lie within 12 m of the short one, which has but two."""
    long, short = ((0.0, 0.0), (300.0, 0.0)), ((145.0, 1.0), (155.0, 1.0))
    assert beside(long, short, within_m=12.0)
    assert beside(short, long, within_m=12.0) == set()
