"""Corners that touch are a meeting; lines beside each other are none."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from loopwright.model.arrays import Floats
from loopwright.network.kiss import kissed

LEVEL_M = 4.0


def corner(tip: tuple[float, float], east: float, height: float = 0.0) -> Floats:
    """Two legs of 100 m that meet at ``tip``, opening to the east (1) or to the west (-1)."""
    run = np.arange(-20, 21) * 5.0
    x = tip[0] + east * np.abs(run) * 0.7
    return np.column_stack((x, tip[1] + run * 0.7, np.full(len(run), height)))


def meetings(*lines: Floats) -> int:
    place = np.vstack(lines)
    starts = np.cumsum([0, *(len(line) for line in lines)])
    chains = [list(range(a, b)) for a, b in pairwise(starts)]
    grown_place, grown = kissed(place, chains, level_m=LEVEL_M)
    shared = set(grown[0]).intersection(*grown[1:]) if len(grown) > 1 else set()
    assert len(grown_place) - len(place) == len(shared) or len(lines) == 1
    return len(grown_place) - len(place)


@pytest.mark.parametrize(("gap_m", "found"), [(0.0, 1), (3.0, 1), (6.0, 0)])
def test_corners_that_touch_meet_once(gap_m: float, found: int) -> None:
    assert meetings(corner((0.0, 0.0), 1.0), corner((-gap_m, 0.0), -1.0)) == found


def test_lines_that_touch_twice_meet_twice() -> None:
    one = [corner((0.0, 300.0 * k), 1.0) for k in range(2)]
    two = [corner((-3.0, 300.0 * k), -1.0) for k in range(2)]
    assert meetings(np.vstack(one), np.vstack(two)) == 2


def test_under_a_bridge_nothing_meets() -> None:
    assert meetings(corner((0.0, 0.0), 1.0), corner((-2.0, 0.0), -1.0, height=6.0)) == 0


@pytest.mark.parametrize("gap_m", [1.0, 3.0, 8.0])
def test_lines_side_by_side_stay_apart(gap_m: float) -> None:
    run = np.arange(0, 200.0, 5.0)
    one = np.column_stack((run, np.zeros_like(run), np.zeros_like(run)))
    assert meetings(one, one + np.array([0.0, gap_m, 0.0])) == 0


def test_a_hairpin_does_not_meet_itself() -> None:
    out = np.column_stack((np.arange(0, 100.0, 5.0), np.zeros(20), np.zeros(20)))
    back = out[::-1] + np.array([0.0, 3.0, 0.0])
    assert meetings(np.vstack((out, back))) == 0


def test_nothing_at_all() -> None:
    place, chains = kissed(np.zeros((0, 3)), [], level_m=LEVEL_M)
    assert (len(place), chains) == (0, [])
