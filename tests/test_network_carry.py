"""A trail is carried on along rides that agree where they go, to the first line they come to."""

from __future__ import annotations

import numpy as np
import pytest

from loopwright.model.arrays import Floats
from loopwright.network.carry import carry_on
from loopwright.network.onward import tie_onward
from loopwright.network.web import Web
from network_help import ridden
from test_network_turns import by_way_of, web_of

ROAD = by_way_of((-200.0, 0.0), (200.0, 0.0))
SPUR = by_way_of((0.0, 240.0), (0.0, 100.0))
"""A line that ends 100 m short of the road; its loose ends are nodes 0 and 1."""
LEVEL_M = 100.0
"""Heights do not part the two."""


def down(x: float, *, to: float = 0.0) -> Floats:
    """A way from the end of the spur to the road."""
    way = by_way_of((0.0, 100.0), (x, 50.0), (to, 0.0))
    return np.column_stack((way, np.full(len(way), LEVEL_M)))


def place() -> tuple[Web, int, int]:
    """A web, the loose end and the road's number."""
    web = web_of(SPUR, ROAD, heights=(LEVEL_M, LEVEL_M))
    return web, 1, max(web.lines)


@pytest.mark.parametrize(
    ("ways", "carried"),
    [
        ([down(0.0)], False),
        ([down(0.0), down(5.0)], True),
        ([down(-60.0), down(60.0)], False),
        ([down(0.0), down(0.0, to=60.0)], False),
        ([down(0.0), down(4.0), down(60.0, to=60.0)], True),
        ([], False),
    ],
)
def test_two_rides_that_agree_carry_a_trail_on(ways: list[Floats], *, carried: bool) -> None:
    web, end, road = place()
    assert carry_on(web, end, ways, [road] * len(ways)) is carried
    assert web.degree(end) == 1 + carried
    assert len(web.lines) == 2 + 2 * carried


def test_the_middle_ride_is_followed() -> None:
    web, end, road = place()
    assert carry_on(web, end, [down(-9.0), down(1.0), down(8.0)], [road] * 3)
    new = web.lines[max(web.lines)]
    assert np.abs(new.xyz[:, 0]).max() == pytest.approx(1.0, abs=0.6)
    assert new.a == end
    assert web.nodes[new.b][:2] == pytest.approx([0.0, 0.0], abs=4.0)
    assert web.degree(new.b) == 3


def test_it_begins_at_the_end_though_rides_were_last_seen_before_it() -> None:
    web, end, road = place()
    before = np.column_stack((by_way_of((3.0, 120.0), (3.0, 100.0)), np.full(5, LEVEL_M)))
    way = np.vstack((before, down(0.0)))
    assert carry_on(web, end, [way, way], [road, road])
    assert web.lines[max(web.lines)].length_m == pytest.approx(104.0, abs=6.0)


@pytest.mark.parametrize(("height_m", "met_y"), [(100.0, 50.0), (94.0, 0.0)])
def test_it_ends_on_the_first_line_of_its_level(height_m: float, met_y: float) -> None:
    track = by_way_of((-80.0, 50.0), (80.0, 50.0))
    web = web_of(SPUR, ROAD, track, heights=(LEVEL_M, LEVEL_M, height_m))
    assert carry_on(web, 1, [down(0.0), down(2.0)], [1, 1])
    (fork,) = (node for node in web.nodes if web.degree(node) == 3)
    assert web.nodes[fork][1] == met_y


def test_the_end_of_a_ring_is_carried_on_to_its_own_trail() -> None:
    # Out to (0, 0), round a ring that was drawn up to its last 100 m.
    ring = by_way_of((0.0, -200.0), (0.0, 0.0), (100.0, 60.0), (0.0, 160.0), (-90.0, 60.0))
    ride = by_way_of(
        (0.0, -200.0), (0.0, 0.0), (100.0, 60.0), (0.0, 160.0), (-90.0, 60.0), (0.0, 0.0),
        (0.0, -200.0),
    )  # fmt: skip
    web = web_of(ring, heights=(LEVEL_M,))
    assert tie_onward(web, *ridden(ride, ride[::-1], ele=LEVEL_M)) == 1
    assert sorted(web.degree(node) for node in web.nodes) == [1, 2, 3]
    (fork,) = (node for node in web.nodes if web.degree(node) == 3)
    assert web.nodes[fork][:2] == pytest.approx([0.0, 0.0], abs=15.0)


def test_who_turns_at_an_end_and_comes_back_unseen_for_a_while_did_not_go_round() -> None:
    # Back 20 m beside its own line for 100 m: further along it, but ridden all the way.
    out = by_way_of((0.0, 300.0), (0.0, 100.0), (20.0, 100.0), (20.0, 200.0), (0.0, 220.0))
    back = np.vstack((out, by_way_of((0.0, 224.0), (0.0, 300.0))))
    web = web_of(by_way_of((0.0, 300.0), (0.0, 100.0)), ROAD, heights=(LEVEL_M, LEVEL_M))
    assert tie_onward(web, *ridden(back, back, ele=LEVEL_M)) == 0


def test_who_cuts_a_hook_at_an_end_did_not_go_round() -> None:
    hook = by_way_of((0.0, 300.0), (0.0, 100.0), (10.0, 100.0), (10.0, 114.0))
    ride = np.vstack((hook, by_way_of((6.0, 116.0), (0.0, 119.0), (0.0, 300.0))))
    web = web_of(hook, heights=(LEVEL_M,))
    assert tie_onward(web, *ridden(ride, ride, ele=LEVEL_M)) == 0


def test_a_way_back_to_the_end_itself_is_no_line() -> None:
    web, end, _ = place()
    way = by_way_of((0.0, 100.0), (8.0, 92.0), (1.0, 102.0))
    way = np.column_stack((way, np.full(len(way), LEVEL_M)))
    assert not carry_on(web, end, [way, way], [0, 0])
    assert len(web.lines) == 2
