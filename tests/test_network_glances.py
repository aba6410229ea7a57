"""Where many go by, what one ride alone looked into and came back from is no trail yet."""

from __future__ import annotations

import numpy as np
import pytest

from loopwright.invented.park import OPEN_OCEAN
from loopwright.model.arrays import Floats
from loopwright.model.track import CleanTrack
from loopwright.network import build_network
from loopwright.network.build import recall, remember
from loopwright.network.glances import drop_glances
from loopwright.network.web import Web
from network_help import START_S, cleaned, degrees, recorded, total_m
from test_network_knots import walked

MANY = 8.0


def straight(*corners: tuple[float, float]) -> Floats:
    """A line by way of corners, level, ``(n, 3)``."""
    xy = np.array(corners)
    return np.column_stack((xy, np.zeros(len(xy))))


def passed(*lines: tuple[int, int, Floats, float, float]) -> Web:
    """Lines (node, node, places, independent passes, passes of all rides)."""
    web = walked(*(line[:4] for line in lines))
    for number, line in enumerate(lines):
        web.lines[number].rides = line[4]
    return web


def spur(length: float, passes: float, *, crowd: float = MANY) -> Web:
    """A trail that many ride, and a dead end from its middle."""
    return passed(
        (0, 1, straight((-300.0, 0.0), (0.0, 0.0)), 7.0, crowd),
        (1, 2, straight((0.0, 0.0), (300.0, 0.0)), 7.0, 7.0),
        (1, 3, straight((0.0, 0.0), (0.0, length)), passes, passes),
    )


@pytest.mark.parametrize(
    ("length", "passes", "crowd", "gone"),
    [
        (100.0, 1.35, 8.0, 1),
        (150.0, 1.35, 8.0, 1),
        (151.0, 1.35, 8.0, 0),
        (100.0, 1.7, 8.0, 1),
        (100.0, 2.0, 8.0, 0),
        (100.0, 1.35, 7.9, 0),
        (100.0, 1.0, 60.0, 1),
        (100.0, 2.5, 30.0, 1),
        (100.0, 2.5, 29.9, 0),
        (151.0, 2.5, 90.0, 0),
        (100.0, 7.0, 84.0, 1),
        (100.0, 7.0, 60.0, 0),
    ],
)
def test_a_short_dead_end_goes_where_many_more_go_by(
    length: float, passes: float, crowd: float, gone: int
) -> None:
    web = spur(length, passes, crowd=crowd)
    assert drop_glances(web) == gone
    assert len(web.lines) == 3 - gone


def across(
    passes: float, *, around: float = 90.0, weakest: float = 60.0, wide: float = 80.0
) -> Web:
    """A way that many go, with a short cut across one of its bends, ``wide`` metres long."""
    bend = straight((0.0, 0.0), (0.0, around), (wide, around))
    return passed(
        (0, 1, straight((-300.0, 0.0), (0.0, 0.0)), 7.0, 60.0),
        (1, 2, bend, 7.0, 60.0),
        (2, 3, straight((wide, around), (wide, 0.0)), 7.0, weakest),
        (3, 4, straight((wide, 0.0), (600.0, 0.0)), 7.0, 60.0),
        (1, 3, straight((0.0, 0.0), (wide, 0.0)), passes, passes),
    )


@pytest.mark.parametrize(
    ("passes", "gone_on_foot", "gone_on_wheels"),
    [(0.9, 1, 1), (1.0, 1, 1), (1.6, 1, 0), (7.0, 1, 0), (7.6, 0, 0)],
)
def test_a_short_cut_goes_that_hardly_anybody_took(
    passes: float, gone_on_foot: int, gone_on_wheels: int
) -> None:
    assert drop_glances(across(passes), 2.0) == gone_on_foot
    assert drop_glances(across(passes), 1.7) == gone_on_wheels


@pytest.mark.parametrize(
    ("way", "gone"),
    [
        ({"weakest": 8.0}, 1),
        ({"weakest": 7.9}, 0),
        ({"around": 109.0}, 1),
        ({"around": 111.0}, 0),
        ({"wide": 200.0, "around": 49.0}, 1),
        ({"wide": 301.0, "around": 0.0}, 0),
    ],
)
def test_a_short_cut_stays_unless_the_way_round_is_short_and_many_go_all_of_it(
    way: dict[str, float], gone: int
) -> None:
    # 110 m up, 80 m along and 110 m down are 300 m, the longest way round that is looked for.
    assert drop_glances(across(1.0, **way), 2.0) == gone


@pytest.mark.parametrize(("off", "gone"), [(19.0, 0), (21.0, 1)])
def test_a_line_beside_the_way_is_no_short_cut(off: float, gone: int) -> None:
    web = passed(
        (0, 1, straight((-300.0, 0.0), (0.0, 0.0)), 7.0, 60.0),
        (1, 2, straight((0.0, 0.0), (200.0, 0.0)), 7.0, 60.0),
        (2, 3, straight((200.0, 0.0), (600.0, 0.0)), 7.0, 60.0),
        (1, 2, straight((0.0, 0.0), (30.0, off), (170.0, off), (200.0, 0.0)), 1.0, 1.0),
    )
    assert drop_glances(web, 2.0) == gone


def link(up: float, along: float, *, turned: bool) -> Web:
    """One ride goes off a trail that many ride and reaches it again ``along`` further on."""
    way = straight((0.0, 0.0), (0.0, up), (along, up), (along, 0.0))
    web = passed(
        (0, 1, straight((-300.0, 0.0), (0.0, 0.0)), 7.0, 20.0),
        (1, 2, straight((0.0, 0.0), (along, 0.0)), 7.0, 20.0),
        (2, 3, straight((along, 0.0), (600.0, 0.0)), 7.0, 20.0),
        (1, 2, way, 1.35, 1.35),
    )
    web.lines[3].turned = turned
    return web


@pytest.mark.parametrize(
    ("up", "along", "gone"),
    [(100.0, 90.0, 1), (104.0, 90.0, 1), (106.0, 90.0, 0), (44.0, 90.0, 0)],
)
def test_who_comes_back_to_about_where_they_left_has_gone_nowhere(
    up: float, along: float, gone: int
) -> None:
    # 105 m up, 90 m along and 105 m down are 300 m, the longest; 44 m up are 178 m, no twice 90.
    assert drop_glances(link(up, along, turned=False)) == gone


@pytest.mark.parametrize(("turned", "gone"), [(True, 1), (False, 0)])
def test_a_short_cut_stays_unless_its_rider_turned_back_at_its_end(
    *, turned: bool, gone: int
) -> None:
    web = passed(
        (0, 1, straight((-300.0, 0.0), (0.0, 0.0)), 7.0, 20.0),
        (1, 2, straight((0.0, 0.0), (0.0, 150.0), (80.0, 150.0), (80.0, 0.0)), 7.0, 9.0),
        (2, 3, straight((80.0, 0.0), (600.0, 0.0)), 7.0, 20.0),
        (1, 2, straight((0.0, 0.0), (80.0, 0.0)), 1.35, 1.35),
    )
    web.lines[3].turned = turned
    assert drop_glances(web) == gone


def test_a_ring_of_one_ride_goes_and_a_ring_by_itself_stays() -> None:
    ring = straight((0.0, 0.0), (0.0, 60.0), (60.0, 60.0), (60.0, 0.0), (0.0, 0.0))
    hung = passed(
        (0, 1, straight((-300.0, 0.0), (0.0, 0.0)), 7.0, 20.0),
        (1, 2, straight((0.0, 0.0), (0.0, -300.0)), 7.0, 20.0),
        (1, 1, ring, 1.0, 1.0),
    )
    assert drop_glances(hung) == 1
    alone = passed((0, 0, ring, 1.0, 20.0))
    assert drop_glances(alone) == 0


ROAD = np.column_stack((np.arange(0.0, 1200.0, 4.0), np.zeros(300)))
UP = np.column_stack((np.full(25, 600.0), np.arange(4.0, 104.0, 4.0)))
LOOKED = np.vstack((ROAD[:151], UP, UP[::-1], ROAD[150:]))
"""Along the road, 100 m aside and back, and on."""


def rides(*lines: Floats) -> list[CleanTrack]:
    """Clean recordings of rides a day apart."""
    return list(cleaned([recorded(xy, start=START_S + 91_234.0 * k) for k, xy in enumerate(lines)]))


def test_a_build_leaves_out_what_one_of_ten_looked_into_and_tells_it() -> None:
    network = build_network(rides(*[ROAD] * 9, LOOKED), OPEN_OCEAN)
    assert degrees(network) == [1, 1]
    assert total_m(network) == pytest.approx(1196.0, abs=15.0)
    told = [aside.length_m for aside in network.asides]
    assert len(told) == 1
    assert told[0] == pytest.approx(200.0, abs=40.0)


@pytest.mark.parametrize("many", [3, 6])
def test_among_few_rides_a_dead_end_stays(many: int) -> None:
    network = build_network(rides(*[ROAD] * many, LOOKED), OPEN_OCEAN)
    assert degrees(network) == [1, 1, 1, 3]


def test_a_second_ride_makes_it_a_trail_however_it_comes_in() -> None:
    many = rides(*[ROAD] * 9, LOOKED, LOOKED + 0.3)
    whole = recall(remember(many), OPEN_OCEAN)
    added = recall(remember(many, previous=remember(many[:-1])), OPEN_OCEAN)
    assert degrees(whole) == [1, 1, 1, 3]
    assert [s.xy.tolist() for s in whole.stretches] == [s.xy.tolist() for s in added.stretches]
