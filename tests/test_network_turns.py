"""Lines that rides change between are tied; lines side by side, and bridges, are not."""

from __future__ import annotations

import numpy as np
import pytest

from loopwright.model.arrays import Floats
from loopwright.network.turns import tie_turns
from loopwright.network.web import Web
from network_help import ridden

WEST, EAST, SOUTH, NORTH = (-100.0, 0.0), (100.0, 0.0), (0.0, -100.0), (0.0, 100.0)


def by_way_of(*places: tuple[float, float]) -> Floats:
    """Points every 4 m along straight lines between places."""
    corners = np.array(places)
    run = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(corners, axis=0).T))))
    at = np.arange(0.0, run[-1], 4.0)
    return np.column_stack([np.interp(at, run, corners[:, k]) for k in (0, 1)])


def web_of(*lines: Floats, heights: tuple[float, ...] = (100.0, 100.0)) -> Web:
    web = Web()
    for number, (xy, ele) in enumerate(zip(lines, heights, strict=True)):
        xyz = np.column_stack((xy, np.full(len(xy), ele)))
        web.add_node(2 * number, xyz[0])
        web.add_node(2 * number + 1, xyz[-1])
        web.add_line(2 * number, 2 * number + 1, xyz)
    return web


def ties(web: Web, *rides: Floats) -> int:
    """How many places are tied when ``rides`` are ridden, each on a day of its own."""
    return tie_turns(web, *ridden(*rides))


def corners(gap_m: float) -> tuple[Floats, Floats]:
    """A corner from west to north and one from south to east, ``gap_m`` apart."""
    off = gap_m / 2 / np.sqrt(2.0)
    return (
        by_way_of((-100.0, off), (-off, off), (-off, 100.0)),
        by_way_of((off, -100.0), (off, -off), (100.0, -off)),
    )


STRAIGHT = by_way_of(WEST, EAST)


@pytest.mark.parametrize(
    ("rides", "tied"),
    [
        ((STRAIGHT, STRAIGHT), 1),
        ((STRAIGHT, by_way_of(NORTH, SOUTH)), 1),
        ((STRAIGHT,), 0),
        ((by_way_of(WEST, (0.0, 0.0), NORTH), by_way_of(SOUTH, (0.0, 0.0), EAST)), 0),
    ],
)
def test_corners_are_one_crossing_when_two_rides_change_over(
    rides: tuple[Floats, ...], tied: int
) -> None:
    web = web_of(*corners(8.0))
    assert ties(web, *rides) == tied
    assert max(web.degree(node) for node in web.nodes) == (4 if tied else 1)


def test_corners_far_apart_do_not_meet() -> None:
    assert ties(web_of(*corners(16.0)), STRAIGHT, STRAIGHT) == 0


def test_a_bridge_is_no_meeting() -> None:
    assert ties(web_of(*corners(8.0), heights=(100.0, 106.0)), STRAIGHT, STRAIGHT) == 0


def test_lines_side_by_side_are_not_tied_by_rides_that_waver() -> None:
    one = by_way_of((-200.0, 0.0), (200.0, 0.0))
    other = one + np.array([0.0, 8.0])
    waver = by_way_of((-200.0, 0.0), (-10.0, 0.0), (10.0, 8.0), (200.0, 8.0))
    assert ties(web_of(one, other), waver, waver, waver) == 0


def test_what_a_junction_joins_is_not_tied_again() -> None:
    web = web_of(*corners(8.0))
    assert ties(web, STRAIGHT, STRAIGHT) == 1
    assert ties(web, STRAIGHT, STRAIGHT) == 0


def test_lines_of_few_vertices_that_meet_are_not_tied_to_themselves() -> None:
    web = Web()
    for node, place in enumerate([(-100.0, 0.0), (0.0, 0.0), (0.0, 100.0)]):
        web.add_node(node, np.array([*place, 100.0]))
    web.add_line(0, 1, np.array([(-100.0, 0.0, 100.0), (0.0, 0.0, 100.0)]))
    web.add_line(1, 2, np.array([(0.0, 0.0, 100.0), (0.0, 100.0, 100.0)]))
    cut = by_way_of(WEST, (-36.0, 0.0), (0.0, 24.0), NORTH)
    assert ties(web, cut, cut) == 0
    assert sorted(web.degree(node) for node in web.nodes) == [1, 1, 2]


def test_a_ring_whose_end_stops_short_of_its_start_is_closed() -> None:
    turn = np.linspace(0.1, 2 * np.pi - 0.12, 90)
    ring = 60.0 * np.column_stack((np.sin(turn), -np.cos(turn)))
    stem = by_way_of((0.0, -200.0), (0.0, -62.0))
    web = web_of(np.vstack((stem, ring)), heights=(100.0,))
    ride = np.vstack((stem, ring, [(0.0, -60.0)], ring, stem[::-1]))
    assert ties(web, ride, ride) == 1
    assert sorted(web.degree(node) for node in web.nodes) == [1, 3]


def test_few_changes_against_many_passes_are_strays() -> None:
    web = web_of(*corners(8.0))
    for line in web.lines.values():
        line.passes = 7.0
    assert ties(web, STRAIGHT, STRAIGHT) == 0
    for line in web.lines.values():
        line.passes = 6.0
    assert ties(web, STRAIGHT, STRAIGHT) == 1


def test_a_line_that_comes_back_to_itself_is_tied_to_itself() -> None:
    first, second = corners(8.0)
    round_it = by_way_of((0.0, 150.0), (200.0, 0.0), (0.0, -150.0))
    web = web_of(np.vstack((first, round_it, second)), heights=(100.0,))
    assert ties(web, STRAIGHT, STRAIGHT) == 1
    assert sorted(web.degree(node) for node in web.nodes) == [1, 1, 4]


def test_lines_are_tied_at_every_place_where_rides_change_over() -> None:
    first, second = corners(8.0)
    aside = np.array([260.0, 0.0])
    web = web_of(
        np.vstack((first, by_way_of((120.0, 120.0), (150.0, 120.0)), first + aside)),
        np.vstack((second, second + aside)),
    )
    rides = [STRAIGHT + shift for shift in (0.0 * aside, aside) for _ in range(2)]
    assert ties(web, *rides) == 2
    assert sorted(web.degree(node) for node in web.nodes) == [1, 1, 1, 1, 4, 4]
    assert ties(web, *rides) == 0
