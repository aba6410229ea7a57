"""What noise leaves in a web is mended; trails stay."""

from __future__ import annotations

import numpy as np
import pytest

from loopwright.model.arrays import Floats
from loopwright.network.anchor import Part, carve
from loopwright.network.fitted import placed
from loopwright.network.repair import attach, mend, untwin
from loopwright.network.shadows import drop_shadows
from loopwright.network.strays import drop_strays
from loopwright.network.web import Web

Place = tuple[float, float]


def even(*places: Place, height: float = 50.0) -> Floats:
    """Points every 5 m along straight lines between places."""
    corners = np.array(places, dtype=np.float64)
    run = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(corners, axis=0).T))))
    at = np.linspace(0.0, run[-1], round(run[-1] / 5.0) + 1)
    return np.column_stack([
        *(np.interp(at, run, corners[:, k]) for k in (0, 1)), np.full(len(at), height)
    ])  # fmt: skip


def web_of(*lines: tuple[int, int, Floats]) -> Web:
    """Lines between numbered nodes that lie where the lines end."""
    web = Web()
    for a, b, xyz in lines:
        for node, place in ((a, xyz[0]), (b, xyz[-1])):
            if node not in web.nodes:
                web.add_node(node, place)
        web.add_line(a, b, xyz, passes=4.0)
    return web


def tee(*more: tuple[int, int, Floats]) -> Web:
    """Three arms of 100 m from node 0, and more."""
    return web_of(
        (0, 1, even((0, 0), (-100, 0))), (0, 2, even((0, 0), (100, 0))),
        (0, 3, even((0, 0), (0, 100))), *more,
    )  # fmt: skip


def degrees(web: Web) -> list[int]:
    return sorted(web.degree(node) for node in web.nodes)


@pytest.mark.parametrize(
    ("spur", "left"),
    [
        ((0, 4, even((0, 0), (0, -25))), [1, 1, 1, 3]),
        ((0, 4, even((0, 0), (0, -35))), [1, 1, 1, 1, 4]),
        ((0, 0, even((0, 0), (14, -12), (-14, -12), (0, 0))), [1, 1, 1, 5]),
        ((0, 0, even((0, 0), (6, -6), (-6, -6), (0, 0))), [1, 1, 1, 3]),
        ((4, 5, even((300, 0), (315, 0))), [1, 1, 1, 1, 1, 3]),
    ],
)
def test_turning_places_go_and_trails_stay(spur: tuple[int, int, Floats], left: list[int]) -> None:
    web = tee(spur)
    mend(web)
    assert degrees(web) == left


def test_junctions_a_short_link_apart_are_one() -> None:
    web = tee((0, 4, even((0, 0), (12, -12))), (4, 5, even((12, -12), (12, -112))),
              (4, 6, even((12, -12), (112, -12))))  # fmt: skip
    mend(web)
    assert degrees(web) == [1, 1, 1, 1, 1, 5]
    (junction,) = (node for node in web.nodes if web.degree(node) == 5)
    assert web.nodes[junction].tolist() == [6.0, -6.0, 50.0]


def twins(gap_m: float, *, length_m: float = 300.0, longer: bool = False) -> Web:
    """Two lines between the same ends, ``gap_m`` apart; the second is ridden less."""
    end = (length_m, 0.0)
    other = [(10.0, gap_m), (length_m - 10.0, gap_m)]
    if longer:
        other = [(10.0, gap_m), *((x, gap_m) for x in (280.0, 10.0)), (length_m - 10.0, gap_m)]
    web = web_of((0, 1, even((0, 0), end)), (0, 1, even((0, 0), *other, end)))
    web.lines[1].passes = 2.0
    return web


@pytest.mark.parametrize(("gap_m", "one"), [(3.0, True), (9.0, False)])
def test_of_two_lines_that_errors_part_the_better_ridden_stays(gap_m: float, *, one: bool) -> None:
    # Standard error of the difference at 2 m of error: 2 sqrt(1/4 + 1/2) = 1.73 m; 2.3 of it 4 m.
    web = twins(gap_m)
    assert untwin(web, 2.0) == one
    assert sorted(web.lines) == ([0] if one else [0, 1])


def test_a_ring_is_nobodys_twin() -> None:
    web = twins(3.0)
    web.add_line(0, 0, even((0, 0), (-150, 2), (-300, 0), (-150, -2), (0, 0)), passes=1.0)
    assert untwin(web, 2.0) == 1
    assert sorted(web.lines) == [0, 2]


def test_lines_of_different_length_are_no_twins() -> None:
    assert untwin(twins(3.0, longer=True), 2.0) == 0


@pytest.mark.parametrize(("grain_m", "one"), [(0.0, False), (22.0, True)])
def test_sparse_recording_cuts_corners_of_short_twins(grain_m: float, *, one: bool) -> None:
    web = twins(7.5, length_m=70.0)
    assert untwin(web, 2.0, grain_m) == one


@pytest.mark.parametrize(("gap_m", "height", "met"), [(4, 50, 1), (5, 50, 0), (4, 55, 0)])
def test_a_line_that_runs_past_a_junction_meets_it_unless_on_a_bridge(
    gap_m: float, height: float, met: int
) -> None:
    past = even((-100, -gap_m), (100, -gap_m), height=height)
    web = tee((4, 5, past))
    assert attach(web) == met
    assert degrees(web) == ([1, 1, 1, 1, 1, 5] if met else [1, 1, 1, 1, 1, 3])


def test_lines_without_inner_places_attach_to_nothing() -> None:
    ends = np.array([[0.0, 0.0, 50.0], [80.0, 0.0, 50.0]])
    assert attach(web_of((0, 1, ends), (2, 3, np.add(ends, [0.0, 2.0, 0.0])))) == 0


def test_a_ring_one_ride_drew_beside_a_crowd_is_a_stray() -> None:
    ring = even((0, 0), (50, 3), (100, 3), (100, 6), (50, 6), (0, 0))
    web = tee((0, 0, ring))
    for line in web.lines.values():
        line.passes = 8.0
    assert drop_strays(web, 2.0) == 0
    web.lines[3].passes = 1.0
    assert drop_strays(web, 2.0) == 1
    assert degrees(web) == [1, 1, 1, 3]


def test_a_junction_put_where_its_branches_point_meets_the_line_it_comes_to() -> None:
    """Rides that cut the corners draw the junction 8 m short of where it is."""
    arms = [even((0, 0), (2 * side, 8), (120 * side, 8)) for side in (-1, 1)]
    web = web_of(
        (0, 1, arms[0]), (0, 2, arms[1]), (0, 3, even((0, 0), (0, -100))),
        (4, 5, even((-80, 88), (0, 8), (80, 88))),
    )  # fmt: skip
    assert attach(web) == 0
    placed(web)
    assert degrees(web) == [1, 1, 1, 1, 1, 5]
    (meeting,) = (node for node in web.nodes if web.degree(node) == 5)
    assert web.nodes[meeting][1] == pytest.approx(8.0, abs=2.0)


def test_a_part_inside_a_line_becomes_a_line_of_its_own() -> None:
    web = web_of((0, 1, even((0, 0), (100, 0))))
    number = carve(web, Part(0, 30.0, 65.0, forward=True))
    assert web.lines[number].xyz[[0, -1], 0] == pytest.approx((30.0, 65.0))
    assert sorted(line.length_m for line in web.lines.values()) == pytest.approx([30.0, 35.0, 35.0])


@pytest.mark.parametrize(("link_m", "joined"), [(11.0, True), (14.0, True), (16.0, False)])
def test_a_link_too_short_to_count_passes_on_goes_without_parting_trails(
    link_m: float, *, joined: bool
) -> None:
    half = link_m / 2
    web = web_of(
        (0, 1, even((-200.0, 0.0), (-half, 0.0))),
        (1, 2, even((-half, 0.0), (half, 0.0))),
        (2, 3, even((half, 0.0), (200.0, 0.0))),
        (4, 5, even((-200.0, 4.0), (200.0, 4.0))),
        (1, 6, even((-half, 0.0), (-100.0, -100.0))),
        (2, 7, even((half, 0.0), (100.0, 100.0))),
    )
    for line in web.lines.values():
        line.passes = 0.0 if line.length_m < 20.0 else 6.0
    assert drop_shadows(web, 3.0) == 1
    assert len(web.lines) == 5
    assert max(degrees(web)) == (4 if joined else 2)
