"""Noisy rides of small known places become those places again."""

from __future__ import annotations

import numpy as np
import pytest

from loopwright.geo.polyline import length_m, project
from loopwright.invented.park import OPEN_OCEAN
from loopwright.model.ids import Way, Ways
from loopwright.model.network import Network
from loopwright.model.track import RecordedTrack
from loopwright.network import build_network
from network_help import cleaned, degrees, recorded, total_m, winding
from worlds import (
    World,
    crossing,
    hairpins,
    hill,
    lap_rides,
    lollipop,
    rides_over,
    ring,
    side_by_side,
    staggered,
)


def built(tracks: tuple[RecordedTrack, ...] | list[RecordedTrack]) -> Network:
    return build_network(cleaned(tracks), OPEN_OCEAN)


def assert_like(network: Network, world: World) -> None:
    """Same stretches and junction degrees, length within 5 %: forks blur over some metres."""
    assert len(network.stretches) == len(world.network.stretches)
    assert degrees(network) == degrees(world.network)
    assert total_m(network) == pytest.approx(total_m(world.network), rel=0.05)


def test_no_rides_make_an_empty_network() -> None:
    network = build_network((), OPEN_OCEAN)
    assert network.stretches == ()
    assert network.junctions == ()


def test_a_scribble_too_small_for_a_trail_makes_nothing_and_no_fuss() -> None:
    turn = np.linspace(0.0, 10 * np.pi, 200)
    scribble = np.column_stack((np.cos(turn), np.sin(turn))) * 30.0
    for scale in (0.1, 0.5, 1.0):
        network = built([recorded(scribble * scale, time=np.arange(200.0) * 5)])
        assert all(len(stretch.xy) >= 2 for stretch in network.stretches)


def test_one_ride_makes_its_own_line() -> None:
    network = built([recorded(winding())])
    assert len(network.stretches) == 1
    assert degrees(network) == [1, 1]
    assert total_m(network) == pytest.approx(length_m(winding()), rel=0.01)


@pytest.mark.parametrize(
    "world",
    [ring(), lollipop(), side_by_side(), hill(), crossing(), hairpins()],
    ids=lambda world: world.name,
)
@pytest.mark.parametrize("error_m", [2.0, 3.0])
def test_small_places_are_found_again(world: World, error_m: float) -> None:
    tracks = rides_over(world, rides=8, error_m=error_m, seed=2)
    assert_like(built(tracks), world)


@pytest.mark.parametrize("gap_m", [7.0, 10.0])
def test_hairpins_stay_apart(gap_m: float) -> None:
    world = hairpins(gap_m)
    assert_like(built(rides_over(world, rides=8, error_m=3.0, seed=1)), world)


def test_lines_eight_metres_apart_stay_two() -> None:
    world = side_by_side(8.0, 150.0)
    assert_like(built(rides_over(world, rides=10, error_m=2.0, seed=3)), world)


@pytest.mark.parametrize("lift_m", [0.0, 7.0])
@pytest.mark.parametrize("silent", [(), (0, 1, 2, 3), (2, 3, 4, 5)])
def test_a_bridge_is_no_junction_though_some_rides_tell_no_heights(
    lift_m: float, silent: tuple[int, ...]
) -> None:
    across = np.column_stack((np.arange(-200.0, 200.0, 4.0), np.zeros(100)))
    # One ride takes both lines, by way of a link far from the bridge: so heights compare.
    link = np.column_stack((np.linspace(200.0, 0.0, 70), np.linspace(0.0, -200.0, 70)))
    along = across[:, ::-1]
    hump = lift_m * np.clip(1.5 - np.abs(along[:, 1]) / 80.0, 0.0, 1.0)
    xy = np.vstack((across, link[1:], along[1:]))
    ele = 100.0 + np.concatenate((np.zeros(169), hump[1:]))
    rng = np.random.default_rng(3)
    tracks = [
        recorded(
            xy + rng.normal(0.0, 2.0, 2),
            ele=(ele if k not in silent else np.nan)
            + rng.uniform(-20.0, 20.0)
            + rng.normal(0.0, 0.5, len(ele)),
            start=1.9e9 + 90_000.0 * k,
        )
        for k in range(6)
    ]
    assert (4 in degrees(built(tracks))) == (lift_m == 0.0)


def test_a_ring_ridden_ten_times_has_one_seam_and_ten_passes() -> None:
    network = built(lap_rides(ring(), rides=1, laps=10, error_m=3.0))
    assert degrees(network) == [2]
    assert len(network.stretches) == 1
    assert len(network.stretches[0].passes) >= 9
    assert length_m(network.stretches[0].xy) == pytest.approx(200 * np.pi, rel=0.03)


def test_an_out_and_back_keeps_its_tip() -> None:
    xy = np.vstack((winding(), winding()[::-1]))
    network = built([recorded(xy)])
    assert degrees(network) == [1, 1]
    assert network.stretches[0].xy[-1, 0] == pytest.approx(796.0, abs=6.0)
    assert len(network.stretches[0].passes) == 2


def test_passes_know_their_ride_way_time_and_points() -> None:
    track = recorded(winding())
    network = built([track])
    (one,) = network.stretches[0].passes
    assert one.way is Way.FORWARD
    assert one.time_s == pytest.approx(track.time_s[0], abs=3.0)
    assert one.first <= 2
    assert one.last >= len(track) - 3


def test_one_way_riding_is_suggested_never_assumed() -> None:
    stretch = built(lap_rides(hill(), rides=6, error_m=2.0)).stretches[0]
    assert stretch.suggested is Ways.BOTH
    ahead = [recorded(winding() + 2.0 * k, start=1.9e9 + 86_400.0 * k) for k in range(6)]
    stretch = built(ahead).stretches[0]
    assert stretch.suggested is Ways.FORWARD
    assert stretch.ways is Ways.BOTH


def test_heights_of_devices_far_apart_are_brought_to_one_level() -> None:
    world = hill()
    tracks = lap_rides(world, rides=8, error_m=2.0, height_offset_m=48.0)
    stretch = built(tracks).stretches[0]
    rise = np.ptp(stretch.ele_m)
    assert rise == pytest.approx(24.0, abs=2.5)
    assert np.abs(np.diff(stretch.ele_m)).max() < 1.5


def test_rides_without_heights_make_a_network_without_heights() -> None:
    track = recorded(winding(), ele=np.nan)
    stretch = built([track]).stretches[0]
    assert np.isnan(stretch.ele_m).all()


def test_the_order_of_rides_does_not_matter() -> None:
    tracks = cleaned(rides_over(lollipop(), rides=6, error_m=3.0))
    one, two = build_network(tracks, OPEN_OCEAN), build_network(tracks[::-1], OPEN_OCEAN)
    assert [s.id for s in one.stretches] == [s.id for s in two.stretches]
    for a, b in zip(one.stretches, two.stretches, strict=True):
        assert a.xy.tobytes() == b.xy.tobytes()
        assert a.passes == b.passes


def test_standard_errors_are_honest_and_shrink_with_passes() -> None:
    few = built(rides_over(hill(), rides=3, error_m=3.0)).stretches[0]
    many = built(rides_over(hill(), rides=12, error_m=3.0)).stretches[0]
    assert np.median(many.std_error_m) < np.median(few.std_error_m)
    off = np.abs(project(hill().network.stretches[0].xy, many.xy)[1])
    assert (off < 2.5 * many.std_error_m).mean() > 0.8


@pytest.mark.parametrize("decimals", [5, 6])
def test_rounded_positions_do(decimals: int) -> None:
    tracks = [
        RecordedTrack(
            name=t.name, source=t.source, lat=np.round(t.lat, decimals),
            lon=np.round(t.lon, decimals), ele_m=t.ele_m, time_s=t.time_s, piece=t.piece,
        )
        for t in rides_over(lollipop(), rides=6, error_m=2.0)
    ]  # fmt: skip
    assert_like(built(tracks), lollipop())


def test_junctions_nearer_than_errors_tell_are_one() -> None:
    world, two = staggered(gap_m=16.0), {}
    for error_m in (2.0, 6.0):
        made = [
            degrees(built(rides_over(world, rides=12, error_m=error_m, seed=seed)))
            for seed in range(5)
        ]
        assert all(ends[-1] in {3, 4} for ends in made)
        two[error_m] = sum(ends[-2:] == [3, 3] for ends in made)
    # 3.5 errors are 7 m and 21 m.
    assert two[2.0] >= 4
    assert two[6.0] <= 3
