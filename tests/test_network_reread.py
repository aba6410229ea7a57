"""Recordings with far points are read again along the lines that all points together show."""

from __future__ import annotations

import networkx as nx
import numpy as np
import pytest

from loopwright.geo.polyline import at, length_m, resample
from loopwright.invented.park import OPEN_OCEAN
from loopwright.invented.riders import DAY_S
from loopwright.model.arrays import Floats
from loopwright.model.track import CleanTrack
from loopwright.network import build_network
from loopwright.network.attract import Aligned
from loopwright.network.core import part
from loopwright.network.reread import mostly_far, reread
from loopwright.network.samples import Samples, gather
from loopwright.network.ways import UNSEEN, Route, Spot, Ways
from loopwright.network.web import Web
from network_help import START_S, cleaned, degrees, largest_gap_m, recorded, total_m
from test_network_repair import web_of

NONE = np.zeros((0, 2))
BEND = np.array([[0.0, 0.0], [30.0, 25.0], [60.0, 0.0]])
"""Beside the straight line from its first to its last place."""


def flat(*lines: tuple[int, int, Floats]) -> Web:
    """Lines of places ``(n, 2)`` on level ground."""
    return web_of(*((a, b, np.column_stack((xy, np.full(len(xy), 100.0)))) for a, b, xy in lines))


def cut_bend() -> Web:
    """A lead-in, a bend, the straight line that cuts it, and a lead-out."""
    before, after = np.array([[-60.0, 0.0], [0.0, 0.0]]), np.array([[60.0, 0.0], [120.0, 0.0]])
    return flat((0, 1, before), (1, 2, BEND), (1, 2, BEND[[0, 2]]), (2, 3, after))


def along_bend() -> Floats:
    return at(BEND, np.arange(0.0, 78.0, 4.0))


def from_to(web: Web, points: Floats, one: Floats, two: Floats, most_m: float) -> Route | None:
    ways = Ways(web, points)
    (a, *_), (b, *_) = ways.spots(np.array([one, two]), 5.0)
    return ways.route(a, b, most_m)


START, GOAL = np.array([-20.0, 0.0]), np.array([80.0, 0.0])


def test_the_way_that_points_speak_for_is_taken_the_cut_is_not() -> None:
    route = from_to(cut_bend(), along_bend(), START, GOAL, 200.0)
    assert route is not None
    assert route.length_m == pytest.approx(40.0 + length_m(BEND), abs=2.0)
    assert [line for line, _, _ in route.parts] == [0, 1, 3]


def test_without_points_the_shortest_way_is_taken() -> None:
    route = from_to(cut_bend(), NONE, START, GOAL, 200.0)
    assert route is not None
    assert [line for line, _, _ in route.parts] == [0, 2, 3]


def test_no_way_is_longer_than_asked() -> None:
    route = from_to(cut_bend(), along_bend(), START, GOAL, 105.0)
    assert route is not None
    assert [line for line, _, _ in route.parts] == [0, 2, 3]
    assert from_to(cut_bend(), along_bend(), START, GOAL, 90.0) is None


def test_a_way_round_is_taken_on_one_line_too_when_points_speak_for_it() -> None:
    """The cut's two ends lie on one line; the bend leads from one to the other."""
    one, two = np.array([2.0, 0.0]), np.array([58.0, 0.0])
    ways = Ways(cut_bend(), along_bend())
    a, b = (Spot(2, x, 0.0) for x in (float(one[0]), float(two[0])))
    route = ways.route(a, b, 100.0)
    assert route is not None
    assert [line for line, _, _ in route.parts] == [2, 1, 2]
    cut = ways.route(a, b, 60.0)
    assert cut is not None
    assert cut.parts == ((2, 2.0, 58.0),)
    assert ways.route(a, b, 50.0) is None


def test_a_way_on_a_line_that_points_speak_for_is_not_looked_beyond() -> None:
    ways = Ways(cut_bend(), along_bend())
    back = ways.route(Spot(1, 60.0, 0.0), Spot(1, 20.0, 0.0), 50.0)
    assert back is not None
    assert back.parts == ((1, 60.0, 20.0),)
    shape = ways.shape(back)
    np.testing.assert_allclose(shape[[0, -1]], at(BEND, np.array([60.0, 20.0])), atol=1.0)
    assert ways.route(Spot(1, 60.0, 0.0), Spot(1, 20.0, 0.0), 30.0) is None


def test_both_legs_of_a_hairpin_are_spots() -> None:
    leg = np.arange(0.0, 60.0, 2.0)
    hairpin = np.vstack((
        np.column_stack((leg, 0.0 * leg)), np.column_stack((leg[::-1], 0.0 * leg + 8.0)),
    ))  # fmt: skip
    (spots,) = Ways(flat((0, 1, hairpin)), NONE).spots(np.array([[20.0, 3.0]]), 9.0)
    assert [round(s.run_m) for s in spots] == [20, pytest.approx(104, abs=2)]
    assert [s.off_m for s in spots] == pytest.approx([3.0, 5.0], abs=0.3)


def test_ways_are_as_short_as_a_reference_library_finds() -> None:
    """networkx is the reference; without points every metre counts alike."""
    rng = np.random.default_rng(5)
    place = rng.uniform(0.0, 300.0, (14, 2))
    pairs = [(a, b) for a in range(14) for b in range(a) if rng.uniform() < 0.25]
    graph: nx.Graph[int] = nx.Graph()
    for a, b in pairs:
        graph.add_edge(a, b, weight=float(np.hypot(*(place[a] - place[b]))))
    ways = Ways(flat(*((a, b, place[[a, b]]) for a, b in pairs)), NONE)
    for k, (a, b) in enumerate(pairs):
        for m, (c, d) in enumerate(pairs):
            most_m = 400.0
            found = ways.route(Spot(k, 0.0, 0.0), Spot(m, 0.0, 0.0), most_m)
            known = nx.has_path(graph, a, c)
            want = nx.shortest_path_length(graph, a, c, weight="weight") if known else np.inf
            assert (found is None) == (want > most_m)
            if found is not None:
                assert found.length_m == pytest.approx(want, abs=1e-6)
                assert found.cost_m == pytest.approx((1.0 + UNSEEN) * want, abs=1e-6)
            assert {b, d} <= set(graph)


def far_rides(line: Floats, every_m: float = 28.0, rides: int = 6) -> tuple[CleanTrack, ...]:
    """Passes without error, each with its points somewhere else along ``line``."""
    tracks = []
    for number in range(rides):
        dist = np.arange(number * every_m / rides, length_m(line), every_m)
        time = 7.0 * np.arange(len(dist), dtype=np.float64)
        tracks.append(recorded(at(line, dist), time=time, start=START_S + DAY_S * number))
    return cleaned(tracks)


def bends(length: float = 900.0) -> Floats:
    """A line that winds 20 m to either side every 110 m."""
    x = np.arange(0.0, length, 1.0)
    return np.column_stack((x, 20.0 * np.sin(2 * np.pi * x / 110.0)))


def test_points_of_many_rides_show_the_bends_that_each_ride_cuts() -> None:
    """Read once, the line lay up to 1.9 m inside the bends, and 47 m were lost."""
    (stretch,) = build_network(far_rides(bends()), OPEN_OCEAN).stretches
    inner = stretch.xy[(stretch.xy[:, 0] > 40.0) & (stretch.xy[:, 0] < 860.0)]
    assert furthest(inner, bends()) < 1.4


def two_readings(tracks: tuple[CleanTrack, ...]) -> tuple[Samples, Samples]:
    samples = gather(tracks)
    web = flat((0, 1, bends()))
    return samples, reread(samples, Aligned(xy=samples.xy, head=samples.head), web)


def furthest(places: Floats, line: Floats) -> float:
    return float(np.hypot(*(places[:, None] - line[None]).T).min(axis=0).max())


def test_a_curve_is_laid_along_the_line_and_keeps_the_recorded_points() -> None:
    tracks = far_rides(bends(), rides=2)
    before, after = two_readings(tracks)

    assert furthest(after.xy, bends()) < 1.0 < furthest(before.xy, bends())
    for number, track in enumerate(tracks):
        mine = after.xy[after.ride == number]
        (piece,) = track.pieces
        row = np.interp(np.arange(len(piece.xy)), after.place[after.ride == number],
                        np.arange(len(mine)))  # fmt: skip
        there = np.column_stack([np.interp(row, np.arange(len(mine)), mine[:, k]) for k in (0, 1)])
        assert np.abs(there - piece.xy).max() < 0.6
    np.testing.assert_array_equal(np.unique(after.piece), np.unique(before.piece))
    assert (np.diff(after.point)[np.diff(after.piece) == 0] > 0).all()
    assert np.diff(after.dist)[np.diff(after.piece) == 0] == pytest.approx(5.0, abs=0.2)


def test_points_far_from_every_line_keep_their_curve() -> None:
    aside = bends() + np.array([0.0, 400.0])
    before, after = two_readings(far_rides(aside, rides=1))
    assert furthest(after.xy, resample(before.xy, 0.2)) < 0.3


def test_where_lines_do_not_meet_the_curve_is_kept() -> None:
    line = bends()
    hole = slice(438, 452)
    parts = flat((0, 1, line[: hole.start]), (2, 3, line[hole.stop :]))
    before = gather(far_rides(line, rides=1))
    after = reread(before, Aligned(xy=before.xy, head=before.head), parts)
    guessed = before.xy[(before.xy[:, 0] > 438.0) & (before.xy[:, 0] < 452.0)]
    assert furthest(guessed, resample(after.xy, 0.2)) < 0.3
    assert furthest(after.xy, line) < furthest(before.xy, line)


def test_recordings_with_close_points_stay_as_they_are() -> None:
    close = cleaned([recorded(bends()[::4])])
    before, after = two_readings(close)
    for name in ("xy", "dist", "point", "time", "place", "first"):
        np.testing.assert_array_equal(getattr(after, name), getattr(before, name))
    assert not mostly_far(before)
    assert mostly_far(gather(far_rides(bends(), rides=2)))
    assert mostly_far(gather([*far_rides(bends(), rides=6), *close]))
    assert not mostly_far(gather([*far_rides(bends(), rides=3), *close]))


def test_a_piece_too_short_to_hold_two_points_stays_as_it_is() -> None:
    before = gather(far_rides(bends(), rides=1))
    rows = slice(1, 4)
    short = part(before, (np.arange(len(before)) >= 1) & (np.arange(len(before)) < 4))
    after = reread(short, Aligned(xy=short.xy, head=short.head), flat((0, 1, bends())))
    np.testing.assert_array_equal(after.xy, before.xy[rows])


def test_the_order_of_far_rides_does_not_matter() -> None:
    tracks = far_rides(bends(), rides=4)
    one, two = (build_network(some, OPEN_OCEAN) for some in (tracks, tracks[::-1]))
    assert degrees(one) == degrees(two) == [1, 1]
    assert largest_gap_m(one, two) == 0.0
    assert total_m(one) == total_m(two)
