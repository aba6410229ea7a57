"""Which streets trips took, on small maps where that is known by hand."""

from __future__ import annotations

import numpy as np

from loopwright.judging_matched import Street, taken
from loopwright.model.arrays import Floats

GRID = {10 * i + j: np.array([200.0 * i, 200.0 * j]) for i in range(4) for j in range(4)}
"""Sixteen corners 200 m apart; corner 21 lies at 400 m, 200 m."""
BLOCKS = [
    *(Street(10 * i + j, 10 * i + j + 1, one_way=False) for i in range(4) for j in range(3)),
    *(Street(10 * i + j, 10 * i + j + 10, one_way=False) for i in range(3) for j in range(4)),
]


def _driven(*corners: tuple[float, float], every_m: float = 30.0, error_m: float = 0.0) -> Floats:
    """Drive from corner to corner, with points evenly spaced, each off by chance."""
    at = np.array(corners)
    run = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(at, axis=0).T))))
    want = np.append(np.arange(0.0, run[-1], every_m), run[-1])
    xy = np.column_stack([np.interp(want, run, at[:, k]) for k in (0, 1)])
    return np.asarray(xy + np.random.default_rng(7).normal(0.0, error_m, xy.shape))


def test_a_trip_round_corners_takes_just_its_streets() -> None:
    trip = _driven((0, 0), (200, 0), (200, 400), (600, 400), error_m=8.0)
    assert taken(BLOCKS, GRID, [trip]) == {(0, 10), (10, 11), (11, 12), (12, 22), (22, 32)}


def test_a_street_merely_passed_is_not_taken() -> None:
    beside = GRID | {50: np.array([20.0, 15.0]), 51: np.array([180.0, 15.0])}
    ways = [*BLOCKS, Street(50, 51, one_way=False)]
    trip = _driven((0, 200), (0, 0), (400, 0), error_m=6.0)
    assert taken(ways, beside, [trip]) == {(0, 1), (0, 10), (10, 20)}


def test_of_two_carriageways_the_one_that_leads_there_is_taken() -> None:
    ends = {1: (0, 0), 2: (300, 0), 3: (0, 12), 4: (300, 12)}
    places = {name: np.array(at, dtype=float) for name, at in ends.items()}
    ways = [Street(1, 2, one_way=True), Street(4, 3, one_way=True)]
    middle = [(0.0, 7.0), (300.0, 7.0)]
    assert taken(ways, places, [_driven(*middle)]) == {(1, 2)}
    assert taken(ways, places, [_driven(*middle[::-1])]) == {(3, 4)}


def test_ends_count_where_most_of_a_street_is_taken() -> None:
    assert taken(BLOCKS, GRID, [_driven((80, 0), (400, 0))]) == {(0, 10), (10, 20)}
    assert taken(BLOCKS, GRID, [_driven((120, 0), (400, 0))]) == {(10, 20)}
    assert taken(BLOCKS, GRID, [_driven((20, 0), (180, 0))]) == {(0, 10)}
    assert taken(BLOCKS, GRID, [_driven((60, 0), (140, 0))]) == set()


def test_nothing_is_guessed_over_long_gaps_nor_off_the_map() -> None:
    jumped = np.vstack((_driven((0, 0), (200, 0)), _driven((200, 600), (600, 600))))
    assert taken(BLOCKS, GRID, [jumped]) == {(0, 10), (13, 23), (23, 33)}
    away = _driven((0, 0), (200, 0), (300, 100), (400, 200), (600, 200))
    assert taken(BLOCKS, GRID, [away]) == {(0, 10), (21, 31)}
    assert taken(BLOCKS, GRID, [_driven((5000, 0), (6000, 0))]) == set()


def test_who_turns_back_took_the_street_once() -> None:
    there_and_back = _driven((0, 0), (390, 0), (0, 0), error_m=3.0)
    assert taken(BLOCKS, GRID, [there_and_back]) == {(0, 10), (10, 20)}
