"""Recordings with a point every five seconds and more: lines are those of closer recordings."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from loopwright.geo.polyline import length_m
from loopwright.invented.park import OPEN_OCEAN
from loopwright.model.arrays import Floats
from loopwright.model.network import Network
from loopwright.model.track import RecordedTrack
from loopwright.network import build_network, recall, remember
from loopwright.network.samples import FURTHEST, gather
from network_help import cleaned, degrees, largest_gap_m, recorded, total_m, winding
from worlds import World, hairpins, lap_rides, rides_over

YEAR_S = 31_557_600.0


def built(tracks: tuple[RecordedTrack, ...] | list[RecordedTrack]) -> Network:
    return build_network(cleaned(tracks), OPEN_OCEAN)


def wide(world: World, rides: int = 6, every: int = 9) -> tuple[RecordedTrack, ...]:
    """Laps with every ninth point kept, a year later."""
    return tuple(
        every_nth(replace(track, time_s=track.time_s + YEAR_S), every)
        for track in lap_rides(world, rides=rides, error_m=2.5, seed=7)
    )


def every_nth(track: RecordedTrack, every: int) -> RecordedTrack:
    return RecordedTrack(
        name=track.name, source=track.source, lat=track.lat[::every], lon=track.lon[::every],
        ele_m=track.ele_m[::every], time_s=track.time_s[::every], piece=track.piece[::every],
    )  # fmt: skip


def test_wide_recordings_add_no_line_where_close_ones_show_it() -> None:
    close = lap_rides(hairpins(), rides=6, error_m=2.0)
    alone, both = built(close), built([*close, *wide(hairpins())])
    assert degrees(both) == degrees(alone)
    assert largest_gap_m(alone, both) < 0.01


def test_wide_recordings_count_as_passes_all_the_same() -> None:
    tracks = [recorded(winding(), start=1.9e9 + 2e5 * k) for k in range(4)]
    later = [every_nth(recorded(winding(), start=2.0e9 + 2e5 * k), 8) for k in range(3)]
    (stretch,) = built([*tracks, *later]).stretches
    assert len(stretch.passes) == 7


def test_a_wide_recording_adds_the_line_that_only_it_shows() -> None:
    close = [recorded(winding(), start=1.9e9 + 2e5 * k) for k in range(4)]
    far = winding() + np.array([0.0, 600.0])
    later = [every_nth(recorded(far, start=2.0e9 + 2e5 * k), 7) for k in range(2)]
    network = built([*close, *later])
    assert total_m(network) == pytest.approx(2 * length_m(winding()), rel=0.02)


def test_wide_recordings_alone_make_lines() -> None:
    network = built(wide(hairpins(gap_m=30.0)))
    assert degrees(network) == [1, 1]


def test_one_wide_ride_added_equals_a_full_build() -> None:
    rides = rides_over(hairpins(gap_m=30.0), rides=5, error_m=2.0)
    tracks = cleaned([*rides, *wide(hairpins(gap_m=30.0), rides=2)])
    after = remember(tracks, previous=remember(tracks[:-1]))
    full = build_network(tracks, OPEN_OCEAN)
    assert degrees(recall(after, OPEN_OCEAN)) == degrees(full)
    assert largest_gap_m(recall(after, OPEN_OCEAN), full) < 2.0


def loose_of(xy: Floats) -> Floats:
    return gather(cleaned([recorded(xy, time=5.0 * np.arange(len(xy), dtype=np.float64))])).loose


def test_a_curve_is_sure_on_the_straight_and_unsure_round_a_bend() -> None:
    leg = np.arange(0.0, 400.0, 25.0)
    bend = np.vstack((
        np.column_stack((leg, 0.0 * leg)),
        np.column_stack((400.0 + 0.0 * leg, 25.0 + leg)),
    ))  # fmt: skip
    loose = loose_of(bend)
    assert loose[:50].max() < 0.01
    assert 2.0 < loose.max() <= FURTHEST * 40.0
    assert loose.argmax() == pytest.approx(len(loose) / 2, abs=10)


def test_points_close_together_leave_nothing_to_guess() -> None:
    assert loose_of(winding()).max() == 0.0
