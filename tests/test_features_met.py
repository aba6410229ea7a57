"""Ground met: seconds and metres of passes by surface, from recordings of known timing."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest

from loopwright.features.met import ground_met
from loopwright.geo.frame import to_degrees
from loopwright.io.tracks import ride_id
from loopwright.jobs import Silent
from loopwright.model.arrays import Floats
from loopwright.model.frame import Origin
from loopwright.model.ground import GroundSpan, Terrain
from loopwright.model.ids import JunctionId, StretchId, Way
from loopwright.model.network import Network, Pass, Stretch
from loopwright.model.season import GroundMet
from loopwright.model.track import RecordedTrack, Ride

ORIGIN = Origin(lat=46.5, lon=13.2)
NOON = datetime(2031, 5, 4, 12, tzinfo=UTC).timestamp()


def ride(metres: Floats, time_s: Floats) -> Ride:
    """A ride due east from the origin."""
    lat, lon = to_degrees(ORIGIN, np.column_stack((metres, np.zeros(len(metres)))))
    track = RecordedTrack(
        name="", source="east.gpx", lat=lat, lon=lon, ele_m=np.full(len(metres), np.nan),
        time_s=time_s, piece=np.zeros(len(metres), dtype=np.int32),
    )  # fmt: skip
    return Ride(id=ride_id(track), track=track)


def terrain(*passes: Pass) -> Terrain:
    """One stretch of 200 m: dirt, and from 120 m on rock."""
    xy = np.array([(0.0, 0.0), (200.0, 0.0)])
    stretch = Stretch(
        id=StretchId("s"), start=JunctionId("a"), end=JunctionId("b"), xy=xy,
        ele_m=np.full(2, np.nan), std_error_m=np.zeros(2), passes=passes,
    )  # fmt: skip
    spans = (
        GroundSpan(from_m=0.0, to_m=120.0, surface="dirt"),
        GroundSpan(from_m=120.0, to_m=200.0, surface="rock"),
    )
    return Terrain(
        network=Network(origin=ORIGIN, stretches=(stretch,), junctions=()),
        spans={StretchId("s"): spans}, profiles={}, features=(),
        amounts={}, passages=(),
        lengths_m={StretchId("s"): 200.0}, ascents_m={},
    )  # fmt: skip


def over(one: Ride, way: Way = Way.FORWARD) -> Pass:
    times = one.track.time_s
    return Pass(ride=one.id, way=way, time_s=float(times[0]), first=0, last=len(times) - 1)


def met(ground: Terrain, *rides: Ride, begin_s: float = 0.0, end_s: float = 1e11) -> GroundMet:
    return ground_met(ground, rides, begin_s=begin_s, end_s=end_s, report=Silent())


def test_time_and_metres_by_surface_with_standing_left_out() -> None:
    # 4 m/s on dirt (30 s), a minute of standing at 80 m, 2 m/s on rock (40 s).
    metres = np.concatenate((np.arange(0, 80, 4.0), [80.0, 80.0], np.arange(84, 121, 4.0),
                             np.arange(122, 201, 2.0)))  # fmt: skip
    steps = np.ones(len(metres))
    steps[0], steps[21] = 0.0, 60.0
    one = ride(metres, NOON + np.cumsum(steps))
    got = met(terrain(over(one)), one)
    assert got.time_s == pytest.approx({"dirt": 30.0, "rock": 40.0}, abs=0.01)
    assert got.length_m == pytest.approx({"dirt": 120.0, "rock": 80.0}, abs=0.01)
    assert got.rides == 1


def test_the_way_back_meets_the_same_ground() -> None:
    back = ride(np.arange(200.0, -1, -4), NOON + np.arange(51.0))
    got = met(terrain(over(back, Way.BACKWARD)), back)
    assert got.time_s == pytest.approx({"dirt": 30.0, "rock": 20.0}, abs=0.01)


def test_a_pass_without_way_adds_nothing() -> None:
    one = ride(np.array([80.0, 80.0, 84.0]), NOON + np.arange(3.0))
    still = replace(over(one), last=1)
    got = met(terrain(still), one)
    assert (got.time_s, got.length_m, got.rides) == ({}, {}, 1)


def test_only_passes_of_the_season_count_and_rides_without_times_are_told() -> None:
    one = ride(np.arange(0.0, 201, 4), NOON + np.arange(51.0))
    bare = replace(one.track, time_s=np.full(51, np.nan))
    untimed = Ride(id=ride_id(bare), track=bare)
    ground = terrain(over(one), over(untimed))
    late = met(ground, one, untimed, begin_s=NOON + 1)
    assert (late.time_s, late.rides, late.untimed) == ({}, 0, 1)
    early = met(ground, one, untimed, end_s=NOON)
    assert early.time_s == {}
    assert sum(met(ground, one, untimed).time_s.values()) == pytest.approx(50.0)
