"""Receivers that stray, in places or once, do not make trails; trails that are ridden stay."""

from __future__ import annotations

from dataclasses import replace
from itertools import permutations

import numpy as np
import pytest

from loopwright.geo.polyline import length_m, project, resample
from loopwright.invented.park import OPEN_OCEAN
from loopwright.invented.receiver import fading
from loopwright.invented.riders import DAY_S
from loopwright.model.arrays import Floats
from loopwright.model.network import Aside, Network
from loopwright.model.track import RecordedTrack
from loopwright.network import build_network, recall, remember, with_asides
from loopwright.network.calm import calmed
from loopwright.network.rough import rough
from loopwright.network.samples import gather
from network_help import START_S, as_rides, cleaned, degrees, recorded, total_m, winding

LINE = winding(1200.0)


def seen(line: Floats, seed: int, error_m: float | Floats = 2.0, fade: float = 40.0) -> Floats:
    """A line as a receiver sees it whose error fades over so many points."""
    noise = fading(np.random.default_rng([seed, 3]), np.ones(len(line) - 1), fade, 2)
    return np.asarray(line + np.multiply(noise.T, error_m).T)


def swung(line: Floats, from_m: float, to_m: float, by_m: float) -> Floats:
    """A line swung aside and back between two eastings."""
    share = np.clip((line[:, 0] - from_m) / (to_m - from_m), 0.0, 1.0)
    return np.column_stack((line[:, 0], line[:, 1] + by_m * np.sin(np.pi * share) ** 2))


def built(lines: list[Floats]) -> Network:
    tracks: list[RecordedTrack] = [
        recorded(line, start=START_S + DAY_S * k) for k, line in enumerate(lines)
    ]
    return build_network(cleaned(tracks), OPEN_OCEAN)


@pytest.mark.parametrize("by_m", [12.0, 22.0])
def test_one_ride_that_swings_out_makes_no_trail(by_m: float) -> None:
    usual = [seen(LINE, seed) for seed in range(8)]
    stray = seen(swung(LINE, 400.0, 620.0, by_m), 99)
    network = built([*usual, stray])
    assert degrees(network) == [1, 1]
    (aside,) = network.asides
    assert aside.ride == as_rides([recorded(stray, start=START_S + DAY_S * 8)])[0].id
    # Both ends of the swing lie near the line: they count as ridden on it.
    assert 40.0 < aside.length_m < 240.0
    assert 400.0 < aside.from_m < aside.from_m + aside.length_m < 700.0
    assert 390.0 < stray[aside.first, 0] < stray[aside.last, 0] < 630.0


def test_what_is_not_drawn_is_told_the_same_in_any_order_and_when_added_later() -> None:
    lines = [seen(LINE, seed) for seed in range(24)] + [seen(swung(LINE, 400.0, 620.0, 16.0), 99)]
    tracks = cleaned(recorded(line, start=START_S + DAY_S * k) for k, line in enumerate(lines))
    whole = build_network(tracks, OPEN_OCEAN)
    assert len(whole.asides) == 1
    assert build_network(tracks[::-1], OPEN_OCEAN).asides == whole.asides
    before = remember(tracks[:-1])
    assert recall(remember(tracks, previous=before), OPEN_OCEAN).asides == whole.asides


def test_the_report_says_in_one_line_how_much_was_not_drawn_and_where() -> None:
    tracks = cleaned([recorded(LINE), recorded(LINE + 300.0)])
    network = build_network(tracks, OPEN_OCEAN)
    assert with_asides(tracks, network) == tracks
    parts = [
        Aside(ride=tracks[1].ride, from_m=1000.0 * k + 240.0, length_m=60.2, first=0, last=9)
        for k in range(4)
    ]
    words = "m beside a better ridden line were not drawn as a trail of their own, at"
    for many, said in (
        (1, f"60 {words} 0.2 km"),
        (2, f"120 {words} 0.2 and 1.2 km"),
        (4, f"241 {words} 0.2, 1.2, 2.2 km and 1 more"),
    ):
        first, second = with_asides(tracks, replace(network, asides=tuple(parts[:many])))
        assert first is tracks[0]
        assert [fault.words for fault in second.faults[len(tracks[1].faults) :]] == [said]


def test_a_way_beside_that_two_rides_took_stays() -> None:
    usual = [seen(LINE, seed) for seed in range(8)]
    other = [seen(swung(LINE, 400.0, 620.0, 22.0), seed) for seed in (98, 99)]
    assert degrees(built([*usual, *other])) == [1, 1, 3, 3]


def test_a_lone_way_far_from_the_others_stays() -> None:
    usual = [seen(LINE, seed) for seed in range(8)]
    other = seen(swung(LINE, 300.0, 800.0, 60.0), 99)
    assert degrees(built([*usual, other])) == [1, 1, 3, 3]


@pytest.mark.parametrize(("error_m", "ends"), [(1.5, [1, 1, 3, 3]), (6.0, [1, 1])])
def test_a_lone_way_beside_few_rides_is_believed_as_far_as_their_receivers(
    error_m: float, ends: list[int]
) -> None:
    usual = [seen(LINE, seed, error_m) for seed in range(4)]
    other = seen(swung(LINE, 400.0, 620.0, 20.0), 99, error_m)
    assert degrees(built([*usual, other])) == ends


def shaded(seed: int) -> Floats:
    """A ride that strays four times as much half way along."""
    deep = np.clip(1.5 - np.abs(LINE[:, 0] - 600.0) / 200.0, 0.0, 1.0)
    return seen(LINE, seed, 2.0 + 6.0 * deep, 40.0)


def test_rides_that_scatter_in_one_place_make_one_line_there() -> None:
    network = built([shaded(seed) for seed in range(12)])
    assert degrees(network) == [1, 1]
    assert total_m(network) == pytest.approx(length_m(LINE), rel=0.035)
    _, off = project(LINE, network.stretches[0].xy)
    assert np.abs(off).max() < 20.0


def test_scatter_is_told_where_it_is() -> None:
    samples = gather(cleaned(recorded(shaded(k), start=START_S + DAY_S * k) for k in range(12)))
    worse, _ = rough(samples)
    inside = np.abs(samples.xy[:, 0] - 600.0) < 150.0
    outside = np.abs(samples.xy[:, 0] - 600.0) > 450.0
    assert worse[inside].mean() > 1.5
    assert worse[outside].mean() < 1.1


def test_a_steady_offset_round_bends_is_no_scatter() -> None:
    turn = np.linspace(0.0, 8 * np.pi, 800)
    line = np.column_stack((turn * 40.0, 45.0 * np.sin(turn)))
    shift = np.random.default_rng(5).normal(0.0, 3.0, (8, 2))
    rides = [seen(line, k, 0.3) + shift[k] for k in range(8)]
    tracks = [recorded(r, start=START_S + DAY_S * k) for k, r in enumerate(rides)]
    worse, _ = rough(gather(cleaned(tracks)))
    assert (worse > 1.0).mean() < 0.05


def test_ways_round_a_triangle_are_no_scatter() -> None:
    """Rides part and meet again where three trails meet; few take the same two sides or one."""
    turn = np.deg2rad(90.0 + 120.0 * np.arange(3))
    out = np.column_stack((np.cos(turn), np.sin(turn)))
    near, far = 17.0 * out, 500.0 * out
    ways = [
        np.vstack((far[a], near[a], *(near[c] for c in via), near[b], far[b]))
        for a, b, c in permutations(range(3))
        for via in ((), (c,))
    ]
    lines = [resample(way, 5.0) for way in ways]
    rides = [
        recorded(seen(line, k, 3.0), start=START_S + DAY_S * k) for k, line in enumerate(lines)
    ]
    samples = gather(cleaned(rides))
    _, shade = rough(samples)
    assert (shade[np.hypot(*samples.xy.T) < 60.0] > 1.3).mean() < 0.05


def test_shade_is_told_for_every_ride_there() -> None:
    """A ride whose own wander is not seen stands in the shade its neighbours show."""
    samples = gather(cleaned(recorded(shaded(k), start=START_S + DAY_S * k) for k in range(12)))
    _, shade = rough(samples)
    inside = np.abs(samples.xy[:, 0] - 600.0) < 100.0
    assert (shade[inside] > 1.3).mean() > 0.9


def test_rides_are_smoothed_where_they_err_much_and_nowhere_else() -> None:
    samples = gather(cleaned([recorded(shaded(1))]))
    deep = np.abs(samples.xy[:, 0] - 600.0) < 150.0
    calm = calmed(samples, np.where(deep, 12.0, 3.0))
    assert (calm.xy[~deep] == samples.xy[~deep]).all()
    before, after = (length_m(some.xy[deep]) for some in (samples, calm))
    assert after < 0.95 * before
    assert np.abs(calm.xy[deep] - samples.xy[deep]).max() < 12.0
    assert calmed(samples, np.full(len(samples), 5.0)) is samples


def test_nothing_is_told_of_one_ride_alone() -> None:
    samples = gather(cleaned([recorded(LINE)]))
    assert (rough(samples)[0] == 1.0).all()
    assert len(rough(gather(()))[0]) == 0
