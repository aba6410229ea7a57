"""A line that curls where no ride does is laid straight; bends that rides went round stay."""

from __future__ import annotations

import numpy as np
import pytest

from loopwright.geo.polyline import length_m
from loopwright.model.arrays import Floats
from loopwright.network.curls import uncurl
from network_help import ridden
from test_network_turns import by_way_of, web_of

ROAD = by_way_of((-200.0, 0.0), (200.0, 0.0))
HOOK = by_way_of((-200.0, 0.0), (10.0, 0.0), (10.0, 4.0), (-8.0, 4.0), (-8.0, 0.5), (200.0, 0.5))
"""Goes 10 m too far, back and on: 46 m more than the road."""
PIN = by_way_of((-200.0, 0.0), (0.0, 0.0), (12.0, 6.0), (0.0, 12.0), (-200.0, 12.0))
"""A hairpin."""
BENDS = by_way_of(
    (-200.0, 0.0), (0.0, 0.0), (0.0, 20.0), (-20.0, 20.0), (-20.0, 40.0), (200.0, 40.0)
)


def straightened(line: Floats, *rides: Floats) -> tuple[int, float]:
    """How many curls of a line are laid straight when these ride it, and its length after."""
    samples, aligned, ele = ridden(*rides)
    web = web_of(line, heights=(100.0,))
    count = uncurl(web, aligned, ele, np.ones(len(samples)))
    (left,) = web.lines.values()
    assert left.xyz[0].tolist() == [*line[0], 100.0]
    assert left.xyz[-1].tolist() == [*line[-1], 100.0]
    return count, length_m(left.xyz[:, :2])


def aside(line: Floats, many: int) -> list[Floats]:
    """Rides of a line, each a little beside the one before."""
    return [line + np.array([0.0, 0.2 * k]) for k in range(many)]


@pytest.mark.parametrize("many", [3, 8])
def test_a_curl_that_no_ride_goes_round_is_laid_straight(many: int) -> None:
    count, length = straightened(HOOK, *aside(ROAD, many))
    assert count >= 1
    assert length == pytest.approx(length_m(ROAD), abs=12.0)
    assert length < length_m(HOOK) - 20.0


def test_few_rides_leave_it_as_it_is() -> None:
    count, _ = straightened(HOOK, *aside(ROAD, 2))
    assert count == 0


def test_a_line_that_is_all_fold_stays_where_rides_went_round() -> None:
    fold = by_way_of((0.0, 0.0), (8.0, 0.0), (8.0, 3.0), (0.0, 3.0), (-3.0, 3.0))
    ride = by_way_of((-200.0, 0.0), (8.0, 0.0), (8.0, 3.0), (-200.0, 3.0))
    count, length = straightened(fold, *aside(ride, 5))
    assert count == 0
    assert length == pytest.approx(length_m(fold), abs=0.5)


@pytest.mark.parametrize("line", [PIN, BENDS, ROAD, ROAD[:11]])
def test_what_rides_went_round_stays(line: Floats) -> None:
    count, length = straightened(line, *aside(line, 5))
    assert count == 0
    assert length == pytest.approx(length_m(line), abs=1.0)
