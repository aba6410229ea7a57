"""Drawn lines match the right lines of a graph, and nothing when they do not fit."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopwright.geo import polyline
from loopwright.geo.follow import Followed, Follower, follow
from loopwright.model.arrays import Floats


def line(*points: tuple[float, float]) -> Floats:
    return polyline.resample(np.array(points, dtype=float), 4.0)


def crossroads() -> list[Floats]:
    """Four arms of 100 m that meet at the origin; 0 west, 1 east, 2 south, 3 north."""
    return [line((-100, 0), (0, 0)), line((0, 0), (100, 0)), line((0, 0), (0, -100)),
            line((0, 100), (0, 0))]  # fmt: skip


def pairs(parts: tuple[Followed, ...]) -> list[tuple[int, bool]]:
    return [(part.index, part.forward) for part in parts]


def test_follow_goes_straight_over_a_junction() -> None:
    parts = follow(crossroads(), line((-80, 2), (90, -1)), within_m=12)
    assert pairs(parts) == [(0, True), (1, True)]
    assert parts[0].from_m == pytest.approx(20, abs=0.5)
    assert parts[0].to_m == pytest.approx(100)
    assert (parts[1].from_m, parts[1].to_m) == pytest.approx((0, 90), abs=0.5)


def test_follow_turns_at_a_junction_and_tells_the_way() -> None:
    parts = follow(crossroads(), line((2, -100), (3, -2), (-90, 3)), within_m=12)
    assert pairs(parts) == [(2, False), (0, False)]
    assert parts[1].from_m == pytest.approx(10, abs=0.5)


def test_follow_drops_the_stub_of_a_line_that_starts_beyond_the_junction() -> None:
    parts = follow(crossroads(), line((-4, 1), (90, 1)), within_m=12)
    assert pairs(parts) == [(1, True)]


def test_follow_tells_parallel_lines_8_m_apart() -> None:
    lines = [line((0, 0), (40, 4), (160, 4), (200, 0)), line((0, 0), (40, -4), (160, -4), (200, 0))]
    low = follow(lines, line((0, 0), (40, -2.5), (160, -2.5), (200, 0)), within_m=15)
    assert pairs(low) == [(1, True)]
    assert low[0].length_m == pytest.approx(polyline.length_m(lines[1]), abs=3)


def test_follow_keeps_the_legs_of_a_hairpin_apart() -> None:
    lines = [line((0, 0), (150, 0), (154, 4), (150, 8), (0, 8))]
    parts = follow(lines, line((20, 6.5), (120, 6.5)), within_m=15)
    assert pairs(parts) == [(0, False)]
    assert parts[0].length_m == pytest.approx(100, abs=2)
    assert parts[0].from_m > 170


def test_follow_gives_nothing_for_a_line_elsewhere() -> None:
    assert follow(crossroads(), line((-100, 60), (-60, 120)), within_m=12) == ()
    assert follow(crossroads(), np.zeros((1, 2)), within_m=12) == ()
    assert follow(crossroads(), np.zeros((0, 2)), within_m=12) == ()
    assert follow([], line((0, 0), (5, 0)), within_m=12) == ()


def test_follow_does_not_fit_a_line_that_crosses_only() -> None:
    assert follow(crossroads(), line((-50, -60), (-50, 60)), within_m=12) == ()


def test_follow_gives_the_part_that_fits() -> None:
    parts = follow(crossroads(), line((-90, 0), (60, 0), (60, 60)), within_m=12)
    assert pairs(parts) == [(0, True), (1, True)]
    assert parts[1].to_m == pytest.approx(60, abs=12)


def test_follow_passes_short_lines_between() -> None:
    lines = [line((0, 0), (50, 0)), np.array([[50.0, 0.0], [52.0, 0.0]]), line((52, 0), (99, 0))]
    assert pairs(follow(lines, line((0, 1), (99, 1)), within_m=10)) == [
        (0, True), (1, True), (2, True)]  # fmt: skip


def test_follow_goes_round_a_ring_over_its_seam() -> None:
    turn = np.linspace(0, 2 * np.pi, 120)
    ring = 50 * np.column_stack((np.cos(turn), np.sin(turn)))
    drawn = 50 * np.column_stack((np.cos(turn + 2), np.sin(turn + 2)))
    parts = follow([ring], drawn, within_m=10)
    assert pairs(parts) == [(0, True), (0, True)]
    assert sum(part.length_m for part in parts) == pytest.approx(polyline.length_m(ring), abs=1)


def test_follow_turns_back_at_a_dead_end() -> None:
    parts = follow(crossroads()[:2], line((-50, 0), (100, 0), (40, 0)), within_m=10)
    assert pairs(parts) == [(0, True), (1, True), (1, False)]


def _grid(count: int, size: float) -> tuple[list[Floats], list[tuple[int, int]]]:
    nodes = [(x * size, y * size) for y in range(count) for x in range(count)]
    ends = [(k, k + 1) for k in range(count * count) if k % count < count - 1]
    ends += [(k, k + count) for k in range(count * (count - 1))]
    return [line(nodes[a], nodes[b]) for a, b in ends], ends


@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 10_000))
def test_follow_finds_a_noisy_walk_over_a_grid(seed: int) -> None:
    chance = np.random.default_rng(seed)
    lines, ends = _grid(5, 60.0)
    at, last, walk = int(chance.integers(25)), -1, []
    for _ in range(8):
        ways = [k for k, pair in enumerate(ends) if at in pair and k != last]
        last = int(chance.choice(ways))
        forward = ends[last][0] == at
        walk.append((last, forward))
        at = ends[last][1 if forward else 0]
    drawn = np.concatenate([lines[k] if forward else lines[k][::-1] for k, forward in walk])
    slow = np.cumsum(chance.normal(0, 0.3, drawn.shape), axis=0)
    shift = slow - slow.mean(axis=0) + chance.normal(0, 1.5, 2)
    assert pairs(follow(lines, drawn + np.clip(shift, -5, 5), within_m=15)) == walk


def test_a_follower_answers_as_follow_does() -> None:
    drawn = line((-80, 2), (90, -1))
    assert Follower(crossroads(), within_m=12).follow(drawn) == follow(
        crossroads(), drawn, within_m=12)  # fmt: skip
