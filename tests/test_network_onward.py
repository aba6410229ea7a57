"""An end at which rides only come by is no end; where they turn, it is one."""

from __future__ import annotations

import numpy as np
import pytest

from loopwright.model.arrays import Floats
from loopwright.network.onward import tie_onward
from loopwright.network.web import Web
from network_help import ridden
from test_network_turns import by_way_of, web_of

ROAD = by_way_of((-200.0, 0.0), (200.0, 0.0))
SPUR = by_way_of((0.0, 120.0), (0.0, 12.0))
"""A line that ends 12 m short of the road."""
ON = by_way_of((0.0, 118.0), (0.0, 10.0), (12.0, 0.0), (150.0, 0.0))
BACK = by_way_of((0.0, 118.0), (0.0, 14.0), (1.0, 14.0), (1.0, 118.0))
STOP = by_way_of((0.0, 118.0), (0.0, 14.0))
LOST = by_way_of((0.0, 118.0), (0.0, 14.0), (-30.0, 40.0), (-180.0, 190.0))
"""Goes where no line is, far."""
TURN = by_way_of((-150.0, 0.0), (-60.0, 0.0), (-60.0, 1.0), (-150.0, 1.0))
"""Turns on the road."""


def tied(web: Web, *rides: Floats, ele: float = 100.0) -> int:
    return tie_onward(web, *ridden(*rides, ele=ele))


@pytest.mark.parametrize(
    ("rides", "ties"),
    [
        ((ON, ON), 1),
        ((ON[::-1], ON), 1),
        ((ON[::-1], ON[::-1]), 1),
        ((ON,), 0),
        ((ON, ON, BACK), 1),
        ((ON, ON, BACK, BACK), 1),
        ((ON, ON, BACK, BACK, BACK), 0),
        ((ON, ON, STOP), 1),
        ((ON, ON, STOP, STOP, STOP), 1),
        ((ON, ON, STOP[::-1], STOP[::-1], STOP[::-1]), 1),
        ((ON, STOP, STOP), 0),
        ((ON, ON, LOST, LOST), 1),
        ((ON, ON, LOST[::-1], LOST[::-1]), 1),
        ((ON, ON, TURN, TURN), 1),
        ((BACK, BACK), 0),
    ],
)
def test_an_end_is_tied_where_two_rides_go_on_and_no_more_turn(
    rides: tuple[Floats, ...], ties: int
) -> None:
    web = web_of(SPUR, ROAD)
    assert tied(web, *rides) == ties
    degrees = sorted(web.degree(node) for node in web.nodes)
    assert degrees == ([1, 1, 1, 3] if ties else [1, 1, 1, 1])


def test_it_is_tied_to_the_nearest_place_of_the_line_they_go_on_by() -> None:
    web = web_of(SPUR, ROAD)
    tied(web, ON, ON)
    (fork,) = (node for node in web.nodes if web.degree(node) == 3)
    assert web.nodes[fork][:2] == pytest.approx([0.0, 0.0], abs=2.1)


@pytest.mark.parametrize(
    ("short_m", "lines"), [(28.0, 3), (34.0, 4), (120.0, 4), (180.0, 4), (220.0, 2)]
)
def test_to_a_line_farther_off_the_trail_is_carried_on(short_m: float, lines: int) -> None:
    web = web_of(by_way_of((0.0, short_m + 122.0), (0.0, short_m)), ROAD)
    way = by_way_of((0.0, short_m + 120.0), (0.0, 6.0), (6.0, 0.0), (150.0, 0.0))
    assert tied(web, way, way) == (lines > 2)
    assert len(web.lines) == lines
    if lines == 2:
        return
    (fork,) = (node for node in web.nodes if web.degree(node) == 3)
    assert web.nodes[fork][:2] == pytest.approx([0.0, 0.0], abs=12.0)


def test_a_bridge_above_is_not_met() -> None:
    low = web_of(SPUR, ROAD)
    high = web_of(SPUR, ROAD, heights=(100.0, 106.0))
    assert (tied(low, ON, ON), tied(high, ON, ON)) == (1, 0)


@pytest.mark.parametrize(("along_m", "ties"), [(6.0, 0), (10.0, 0), (14.0, 0), (40.0, 1)])
def test_a_slip_onto_a_line_is_no_riding_on(along_m: float, ties: int) -> None:
    over = by_way_of((0.0, 118.0), (0.0, 10.0), (4.0, 0.0), (4.0 + along_m, 0.0), (50.0, -160.0))
    web = web_of(SPUR, ROAD)
    assert tied(web, over, over) == ties


@pytest.mark.parametrize("order", [(0, 1, 2), (0, 2, 1)])
@pytest.mark.parametrize("far_y", [-10.0, -25.0])
def test_of_two_lines_they_go_on_by_the_nearer_is_met(order: tuple[int, ...], far_y: float) -> None:
    lines = (SPUR, ROAD, by_way_of((-200.0, far_y), (200.0, far_y)))
    web = web_of(*(lines[k] for k in order), heights=(100.0, 100.0, 100.0))
    other = by_way_of((0.0, 118.0), (0.0, 14.0), (6.0, far_y), (150.0, far_y))
    assert tied(web, ON, other) == 1
    (fork,) = (node for node in web.nodes if web.degree(node) == 3)
    assert web.nodes[fork][1] == pytest.approx(0.0)


def test_where_a_ride_goes_far_from_all_lines_nothing_is_told() -> None:
    far = by_way_of(
        (0.0, 118.0), (0.0, 14.0), (-130.0, 90.0), (-130.0, 0.0), (0.0, 0.0), (150.0, 0.0)
    )
    assert tied(web_of(SPUR, ROAD), far, far) == 0


def test_two_ends_are_tied_in_one_go_each_to_its_own_place() -> None:
    other = SPUR + np.array([80.0, 0.0])
    web = web_of(SPUR, ROAD, other, heights=(100.0, 100.0, 100.0))
    shift = ON + np.array([80.0, 0.0])
    assert tied(web, ON, ON, shift, shift) == 2
    forks = sorted(web.nodes[node][0] for node in web.nodes if web.degree(node) == 3)
    assert forks == pytest.approx([0.0, 80.0], abs=4.1)


def test_ends_that_meet_each_other_are_tied_once() -> None:
    # Two halves of one trail, a gap between them: what is tied first is an end no more.
    one, two = by_way_of((-150.0, 0.0), (-8.0, 0.0)), by_way_of((8.0, 0.0), (150.0, 0.0))
    through = by_way_of((-148.0, 0.0), (148.0, 0.0))
    web = web_of(one, two)
    assert tied(web, through, through) == 1
    assert sorted(web.degree(node) for node in web.nodes) == [1, 1, 2]


def test_a_web_without_loose_ends_or_other_lines_stays() -> None:
    ring = Web()
    ring.add_node(0, np.zeros(3))
    angle = np.linspace(0.0, 2 * np.pi, 60)
    circle = 60.0 * np.column_stack((np.sin(angle), 1.0 - np.cos(angle)))
    ring.add_line(0, 0, np.column_stack((circle, np.zeros(60))))
    assert tied(ring, circle, circle, ele=0.0) == 0
    assert tied(web_of(SPUR, heights=(100.0,)), ON, ON) == 0
