"""The graph of lines that a build mends: joining, hanging, tidying."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from loopwright.model.arrays import Floats
from loopwright.model.ids import RideId, Way
from loopwright.network.drawn import lay_line
from loopwright.network.passes import Over, passes_of
from loopwright.network.samples import gather
from loopwright.network.stations import abreast_of, stations_of
from loopwright.network.web import Web
from network_help import cleaned, recorded, winding

RIDE = RideId("invented")


def line(*places: tuple[float, float, float]) -> Floats:
    return np.array(places, dtype=np.float64)


def corner(*, turned: bool) -> Web:
    """Two fitted lines that meet at node 1; the second is stored towards it if ``turned``."""
    web = Web()
    ends = [(0.0, 0.0, 5.0), (100.0, 0.0, 6.0), (100.0, 80.0, 7.0)]
    for node, place in enumerate(ends):
        web.add_node(node, np.array(place))
    web.add_line(0, 1, line(*ends[:2]))
    web.add_line(*((2, 1) if turned else (1, 2)), line(*ends[1:])[:: -1 if turned else 1])
    over = Over(line=0, ride=RIDE, way=Way.FORWARD, time_s=0.0, end_s=9.0, first=0, last=9)
    on = replace(
        over,
        way=Way.BACKWARD if turned else Way.FORWARD,
        time_s=10.0,
        end_s=18.0,
        first=10,
        last=18,
    )
    for number, (passed, error) in enumerate(((over, [1.0, 2.0]), (on, [2.0, 3.0]))):
        web.lines[number].overs = (passed,)
        web.lines[number].error = np.array(error[:: -1 if turned and number else 1])
    return web


@pytest.mark.parametrize("turned", [False, True])
def test_joined_lines_run_one_way_and_keep_the_pass_over_both(*, turned: bool) -> None:
    web = corner(turned=turned)
    number = web.join_at(1)
    assert number is not None
    joined = web.lines[number]
    assert joined.xyz.tolist() == [[0, 0, 5], [100, 0, 6], [100, 80, 7]]
    assert joined.error is not None
    assert joined.error.tolist() == [1.0, 2.0, 3.0]
    (over,) = joined.overs
    assert (over.way, over.first, over.last, over.end_s) == (Way.FORWARD, 0, 18, 18.0)
    assert sorted(web.nodes) == [0, 2]


def test_lines_a_person_named_apart_are_not_joined() -> None:
    web = corner(turned=False)
    web.lines[1].name = "Fern Run"
    web.tidy()
    assert sorted(web.nodes) == [0, 1, 2]
    web.lines[0].name = "Fern Run"
    web.tidy()
    assert [one.name for one in web.lines.values()] == ["Fern Run"]


def test_one_end_of_a_ring_hung_elsewhere_leaves_the_other() -> None:
    web = Web()
    web.add_node(0, np.zeros(3))
    ring = web.add_line(0, 0, line((0, 0, 0), (50, 40, 0), (50, -40, 0), (0, 0, 0)))
    web.add_node(1, np.zeros(3))
    web.rehang((ring, True), 1)
    assert (web.lines[ring].a, web.lines[ring].b) == (0, 1)
    assert web.at == {0: {ring}, 1: {ring}}
    assert (web.degree(0), web.degree(1)) == (1, 1)


def test_a_drawn_line_with_heights_keeps_their_shape_between_its_ends() -> None:
    web = Web()
    drawn = line((0, 0, 20.0), (50, 0, 26.0), (100, 0, 22.0))
    for node, ele in enumerate((10.0, 14.0, np.nan)):
        web.add_node(node, np.array([100.0 * (node > 0), 0.0, ele]))
    level = web.lines[lay_line(web, 0, 1, drawn)]
    assert level.xyz[:, 2].tolist() == [10.0, 17.0, 14.0]
    assert level.unridden
    unknown = web.lines[lay_line(web, 0, 2, drawn)]
    assert unknown.xyz[:, 2].tolist() == [20.0, 26.0, 22.0]
    bare = drawn * [1.0, 1.0, np.nan]
    assert web.lines[lay_line(web, 0, 1, bare)].xyz[:, 2].tolist() == [10.0, 12.0, 14.0]


def test_a_ride_elsewhere_passes_over_nothing() -> None:
    samples = gather(cleaned([recorded(winding())]))
    ele = np.full(len(samples), np.nan)
    far = stations_of([line((0, 900, 0), (500, 900, 0))])
    for table, some in ((far, samples), (stations_of([]), samples), (far, gather(()))):
        heights = ele[: len(some)]
        near = abreast_of(table, some.xy, some.head, heights, reach_m=10.0)
        assert (near.station == -1).all()
        assert passes_of(table, near, some, some.head, rides=[RIDE]) == []
