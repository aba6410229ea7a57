"""A ring nothing branches from begins where its rides began, since laps are counted from there."""

from __future__ import annotations

import numpy as np
import pytest

from loopwright.invented.park import OPEN_OCEAN
from loopwright.model.arrays import Floats
from loopwright.model.network import Network
from loopwright.model.track import RecordedTrack
from loopwright.network import build_network
from network_help import cleaned, degrees, recorded

RADIUS_M = 150.0
STEP_M = 4.0


def laps(from_deg: float, *, number: float = 4.0, seed: int = 1, way: int = 1) -> RecordedTrack:
    """Ride round and round from a bearing, with some 2 m of slow error."""
    rng = np.random.default_rng(seed)
    turn = way * STEP_M / RADIUS_M * np.arange(int(number * 2 * np.pi * RADIUS_M / STEP_M) + 1)
    angle = np.radians(from_deg) + turn
    xy = RADIUS_M * np.column_stack((np.cos(angle), np.sin(angle)))
    drift = rng.normal(0.0, 0.25, xy.shape).cumsum(axis=0)
    return recorded(xy + drift - drift.mean(axis=0), start=1.9e9 + 86_400.0 * seed)


def with_gap(track: RecordedTrack, first: int, last: int) -> RecordedTrack:
    """Forget some points, so that the ride falls into pieces."""
    keep = np.r_[0:first, last : len(track)]
    return RecordedTrack(
        name=track.name, source=track.source, lat=track.lat[keep], lon=track.lon[keep],
        ele_m=track.ele_m[keep], time_s=track.time_s[keep], piece=track.piece[keep],
    )  # fmt: skip


def seam(network: Network) -> Floats:
    assert degrees(network) == [2]
    (stretch,) = network.stretches
    assert np.allclose(stretch.xy[0], stretch.xy[-1])
    return np.asarray(stretch.xy[0])


def off_m(network: Network, deg: float) -> float:
    """How far the seam lies from a bearing of the ring."""
    place = RADIUS_M * np.array((np.cos(np.radians(deg)), np.sin(np.radians(deg))))
    return float(np.hypot(*(seam(network) - place)))


@pytest.mark.parametrize("deg", [20.0, 110.0, 290.0])
def test_the_seam_lies_where_rides_start(deg: float) -> None:
    network = build_network(cleaned([laps(deg, seed=k) for k in (1, 2, 3)]), OPEN_OCEAN)
    assert off_m(network, deg) < 10.0


def test_every_lap_from_the_seam_is_one_pass() -> None:
    network = build_network(cleaned([laps(70.0, seed=k) for k in (1, 2, 3)]), OPEN_OCEAN)
    (stretch,) = network.stretches
    assert len(stretch.passes) == 12
    each = sorted(one.last - one.first for one in stretch.passes)
    lap = 2 * np.pi * RADIUS_M / STEP_M
    assert each[0] > 0.9 * lap
    assert each[-1] < 1.05 * lap


def test_where_a_ride_goes_on_after_a_gap_it_does_not_start() -> None:
    broken = [with_gap(laps(70.0, seed=k), 120 + 3 * k, 160 + 3 * k) for k in (1, 2, 3, 4)]
    assert off_m(build_network(cleaned(broken), OPEN_OCEAN), 70.0) < 10.0


def test_of_two_starting_places_the_commoner_wins() -> None:
    rides = [laps(200.0, seed=1), laps(50.0, seed=2), laps(52.0, seed=3), laps(310.0, seed=4)]
    assert off_m(build_network(cleaned(rides), OPEN_OCEAN), 51.0) < 12.0


def test_any_order_and_either_way_round_give_the_same_seam() -> None:
    rides = [laps(50.0, seed=1), laps(50.0, seed=2, way=-1), laps(230.0, seed=3)]
    one = build_network(cleaned(rides), OPEN_OCEAN)
    two = build_network(cleaned(rides[::-1]), OPEN_OCEAN)
    assert off_m(one, 50.0) < 10.0
    assert one.stretches[0].xy.tobytes() == two.stretches[0].xy.tobytes()


def test_rides_that_start_elsewhere_leave_the_seam_in_the_west() -> None:
    tangent = np.column_stack((np.full(60, RADIUS_M), np.arange(-240.0, 0.0, 4.0)))
    rides = []
    for k in (1, 2):
        angle = STEP_M / RADIUS_M * np.arange(900)
        xy = RADIUS_M * np.column_stack((np.cos(angle), np.sin(angle)))
        far = RADIUS_M * 3 * np.array((1.0, 0.0)) + tangent - tangent[0]
        track = recorded(np.vstack((far, xy)), start=1.9e9 + 86_400.0 * k)
        rides.append(track)
    network = build_network(cleaned(rides), OPEN_OCEAN)
    rings = [s for s in network.stretches if np.allclose(s.xy[0], s.xy[-1])]
    assert [float(s.xy[0, 0]) for s in rings] == [pytest.approx(-RADIUS_M, abs=1.0)]
