"""A loose end meets the line it leads to; one beside a line, or above it, does not.

That two grounds 4 m apart in height are two is common practice, no source.
"""

from __future__ import annotations

import numpy as np
import pytest

from loopwright.invented.park import OPEN_OCEAN
from loopwright.model.arrays import Floats
from loopwright.network import build_network
from loopwright.network.meet import meet
from loopwright.network.web import Web
from network_help import START_S, cleaned, recorded
from test_network_turns import by_way_of, web_of

TRAIL = by_way_of((-100.0, 0.0), (100.0, 0.0))
LINK_M = 12.0


def leading(gap_m: float, *, x: float = 10.0) -> Floats:
    """A line from the north that ends ``gap_m`` before the trail."""
    north = np.linspace(150.0, gap_m, 40)
    return np.column_stack((np.full(len(north), x), north))


def place(*lines: Floats, heights: tuple[float, ...] | None = None) -> Web:
    web = web_of(*lines, heights=heights or (100.0,) * len(lines))
    web.link_m = LINK_M
    for line in web.lines.values():
        line.passes = 2.0
    return web


@pytest.mark.parametrize(("gap_m", "met"), [(2.0, 1), (9.0, 1), (11.0, 1), (13.5, 0), (30.0, 0)])
def test_an_end_near_a_trail_meets_it(gap_m: float, met: int) -> None:
    web = place(TRAIL, leading(gap_m))
    assert meet(web) == met
    assert sorted(web.degree(node) for node in web.nodes) == [1, 1, 1, *([3] if met else [1])]


def test_the_trail_keeps_its_place() -> None:
    web = place(TRAIL, leading(9.0))
    meet(web)
    (node,) = (node for node in web.nodes if web.degree(node) == 3)
    assert web.nodes[node][1] == 0.0
    assert sum(bool((line.xyz[:, 1] == 0.0).all()) for line in web.lines.values()) == 2


def test_both_ends_on_one_trail_meet_it() -> None:
    web = place(TRAIL, leading(9.0, x=-40.0), leading(9.0, x=40.0))
    assert meet(web) == 2
    assert sorted(web.degree(node) for node in web.nodes) == [1, 1, 1, 1, 3, 3]


def test_two_ends_that_face_each_other_are_one_trail() -> None:
    web = place(by_way_of((-100.0, 0.0), (-3.0, 0.0)), by_way_of((100.0, 0.0), (3.0, 0.0)))
    assert meet(web) == 1
    assert sorted(web.degree(node) for node in web.nodes) == [1, 1, 2]


def test_an_end_beside_a_trail_stays() -> None:
    web = place(TRAIL, by_way_of((-60.0, 8.0), (60.0, 8.0)))
    assert meet(web) == 0


@pytest.mark.parametrize(("ele", "met"), [(103.0, 1), (106.0, 0), (94.0, 0), (np.nan, 1)])
def test_a_bridge_is_not_met(ele: float, met: int) -> None:
    web = place(TRAIL, leading(6.0), heights=(100.0, ele))
    assert meet(web) == met


def test_the_nearest_of_the_same_level_is_met() -> None:
    web = place(TRAIL, leading(9.0), TRAIL + np.array([0.0, 3.0]), heights=(100.0, 100.0, 108.0))
    assert meet(web) == 1
    (node,) = (node for node in web.nodes if web.degree(node) == 3)
    assert web.nodes[node][1:].tolist() == [0.0, 100.0]


def test_the_end_of_a_lone_pass_stays() -> None:
    web = place(TRAIL, leading(9.0))
    web.lines[1].passes = 1.4
    assert meet(web) == 0


def test_nothing_meets_in_an_empty_web() -> None:
    assert meet(Web()) == 0


@pytest.mark.parametrize(("gap_m", "degrees"), [(8.0, [1, 1, 1, 3]), (25.0, [1, 1, 1, 1])])
def test_a_trail_that_begins_where_people_park_beside_another_meets_it(
    gap_m: float, degrees: list[int]
) -> None:
    """No ride goes on from the one to the other: all begin or end where the trail does."""
    up = leading(gap_m, x=0.0)
    tracks = [
        recorded(line, start=START_S + 91_234.0 * day)
        for day, line in enumerate((TRAIL, up, TRAIL, up[::-1]))
    ]
    net = build_network(cleaned(tracks), OPEN_OCEAN)
    assert sorted(junction.degree for junction in net.junctions) == degrees


def test_lines_are_told_nearest_first_with_the_vertex_there() -> None:
    web = place(TRAIL, leading(9.0), TRAIL + np.array([0.0, -30.0]))
    told = web.nearest(np.array([20.0, 2.0, 0.0]), web.lines)
    assert [number for _, number, _ in told] == [0, 1, 2]
    assert [gap_m for gap_m, _, _ in told] == pytest.approx([2.0, np.hypot(10.0, 7.0), 32.0])
    assert web.lines[0].xyz[told[0][2], :2].tolist() == [20.0, 0.0]
    assert web.nearest(np.array([20.0, 2.0, 0.0]), ()) == []
