"""Joints that no ride uses to change over are opened; crossings and real forks stay."""

from __future__ import annotations

from itertools import cycle, islice

import numpy as np
import pytest

from loopwright.model.arrays import Floats
from loopwright.network.attract import Aligned
from loopwright.network.runs import runs_of
from loopwright.network.samples import gather
from loopwright.network.trips import count_trips
from loopwright.network.unzip import unzip
from loopwright.network.web import Web
from network_help import cleaned, recorded, ridden


def even(*places: tuple[float, float]) -> Floats:
    """Points every 4 m along straight lines between places."""
    corners = np.array(places)
    run = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(corners, axis=0).T))))
    at = np.linspace(0.0, run[-1], round(run[-1] / 4.0) + 1)
    return np.column_stack([np.interp(at, run, corners[:, k]) for k in (0, 1)])


def web_of(nodes: dict[int, tuple[float, float]], *lines: tuple[int, int]) -> Web:
    """Straight lines between numbered places."""
    web = Web()
    for number, place in nodes.items():
        web.add_node(number, np.array([*place, 100.0]))
    for a, b in lines:
        xy = even(nodes[a], nodes[b])
        web.add_line(a, b, np.column_stack((xy, np.full(len(xy), 100.0))))
    return web


def opened(web: Web, *rides: Floats) -> int:
    """How many joints are opened when ``rides`` are ridden in turn, twelve in all."""
    return unzip(web, *ridden(*islice(cycle(rides), 12)))


def fan(wide_m: float, link_m: float) -> dict[int, tuple[float, float]]:
    """Two ends in the west, two in the east, ``wide_m`` apart, and what joins them."""
    half = link_m / 2
    return {
        0: (-half - 80.0, wide_m / 2), 1: (-half - 80.0, -wide_m / 2), 2: (-half, 0.0),
        3: (half, 0.0), 4: (half + 80.0, wide_m / 2), 5: (half + 80.0, -wide_m / 2),
    }  # fmt: skip


def by(nodes: dict[int, tuple[float, float]], *numbers: int) -> Floats:
    return even(*(nodes[number] for number in numbers))


TOUCH = fan(20.0, 0.0)
SHARED = fan(20.0, 50.0)
CROSSING = fan(180.0, 0.0)


def touching(nodes: dict[int, tuple[float, float]]) -> Web:
    return web_of({k: v for k, v in nodes.items() if k != 3}, (0, 2), (1, 2), (2, 4), (2, 5))


def degrees(web: Web) -> list[int]:
    return sorted(web.degree(node) for node in web.nodes)


def test_lines_that_only_touch_are_parted() -> None:
    web = touching(TOUCH)
    assert opened(web, by(TOUCH, 0, 2, 4), by(TOUCH, 1, 2, 5)) == 1
    assert degrees(web) == [1, 1, 1, 1, 2, 2]


def test_turning_back_at_a_joint_is_no_changing_over() -> None:
    web = touching(TOUCH)
    assert opened(web, by(TOUCH, 0, 2, 4), by(TOUCH, 1, 2, 5), by(TOUCH, 0, 2, 0)) == 1


@pytest.mark.parametrize("way", [(0, 2, 5), (4, 2, 1)])
def test_a_joint_where_rides_change_over_stays(way: tuple[int, ...]) -> None:
    web = touching(TOUCH)
    assert opened(web, by(TOUCH, 0, 2, 4), by(TOUCH, 1, 2, 5), by(TOUCH, *way)) == 0
    assert degrees(web) == [1, 1, 1, 1, 4]


def test_a_crossing_stays_although_no_ride_turns() -> None:
    web = touching(CROSSING)
    assert opened(web, by(CROSSING, 0, 2, 5), by(CROSSING, 1, 2, 4)) == 0
    assert degrees(web) == [1, 1, 1, 1, 4]


@pytest.mark.parametrize("wide_m", [20.0, 40.0])
def test_trails_that_cross_at_a_slant_stay_a_crossing(wide_m: float) -> None:
    slant = fan(wide_m, 0.0)
    web = touching(slant)
    assert opened(web, by(slant, 0, 2, 5), by(slant, 1, 2, 4)) == 0
    assert degrees(web) == [1, 1, 1, 1, 4]


def test_trails_that_cross_by_way_of_a_piece_they_share_keep_it() -> None:
    web = shared()
    assert opened(web, by(SHARED, 0, 2, 3, 5), by(SHARED, 1, 2, 3, 4)) == 0
    assert degrees(web) == [1, 1, 1, 1, 3, 3]


def shared() -> Web:
    return web_of(SHARED, (0, 2), (1, 2), (2, 3), (3, 4), (3, 5))


def test_a_piece_two_trails_share_by_error_becomes_two() -> None:
    web = shared()
    assert opened(web, by(SHARED, 0, 2, 3, 4), by(SHARED, 1, 2, 3, 5)) == 1
    assert degrees(web) == [1, 1, 1, 1, 2, 2, 2, 2]
    web.tidy()
    joined = {(min(line.a, line.b), max(line.a, line.b)) for line in web.lines.values()}
    assert joined == {(0, 4), (1, 5)}


def test_a_long_piece_two_trails_share_is_no_error() -> None:
    far = fan(20.0, 120.0)
    web = web_of(far, (0, 2), (1, 2), (2, 3), (3, 4), (3, 5))
    assert opened(web, by(far, 0, 2, 3, 4), by(far, 1, 2, 3, 5)) == 0
    assert degrees(web) == [1, 1, 1, 1, 3, 3]


def test_a_short_piece_between_more_than_two_trails_stays() -> None:
    third = SHARED | {6: (180.0, 0.0)}
    web = web_of(third, (0, 2), (1, 2), (2, 3), (3, 4), (3, 5), (3, 6))
    assert opened(web, by(third, 0, 2, 3, 4), by(third, 1, 2, 3, 5)) == 0
    assert degrees(web) == [1, 1, 1, 1, 1, 3, 4]


def test_a_ride_between_lines_that_nothing_joins_is_no_trip() -> None:
    web = web_of({0: (-100.0, 0.0), 1: (0.0, 0.0), 2: (20.0, 0.0), 3: (120.0, 0.0)}, (0, 1), (2, 3))
    samples = gather(cleaned([recorded(even((-100.0, 0.0), (120.0, 0.0)))]))
    aligned = Aligned(xy=samples.xy, head=samples.head)
    found = count_trips(web, runs_of(web, samples, aligned, samples.ele))
    assert (found.at, found.over) == ({}, {})


def test_a_piece_so_short_that_no_sample_shows_it_becomes_two() -> None:
    short = fan(20.0, 2.0)
    web = web_of(short, (0, 2), (1, 2), (2, 3), (3, 4), (3, 5))
    assert opened(web, by(short, 0, 2, 3, 4), by(short, 1, 2, 3, 5)) == 1
    assert degrees(web) == [1, 1, 1, 1, 2, 2, 2, 2]


def test_a_piece_rides_come_to_and_leave_either_way_stays() -> None:
    web = shared()
    rides = [by(SHARED, a, 2, 3, b) for a in (0, 1) for b in (4, 5)]
    assert opened(web, *rides) == 0
    assert degrees(web) == [1, 1, 1, 1, 3, 3]


def test_one_ride_on_each_trail_parts_nothing() -> None:
    web = touching(TOUCH)
    assert unzip(web, *ridden(by(TOUCH, 0, 2, 4), by(TOUCH, 1, 2, 5))) == 0
