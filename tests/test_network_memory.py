"""Adding rides to a build equals building them all."""

from __future__ import annotations

import numpy as np
import pytest

from loopwright.clean import clean_rides
from loopwright.invented.park import OPEN_OCEAN
from loopwright.model.track import CleanTrack
from loopwright.network import build_network, recall, remember
from network_help import as_rides, degrees, largest_gap_m, recorded, winding
from worlds import lollipop, rides_over, side_by_side


def tracks_of(rides: int, seed: int = 1) -> tuple[CleanTrack, ...]:
    return clean_rides(
        as_rides(rides_over(lollipop(), rides=rides, error_m=3.0, seed=seed)), OPEN_OCEAN
    )


@pytest.mark.parametrize("rides", [5, 30])
def test_adding_one_ride_equals_a_full_build(rides: int) -> None:
    tracks = tracks_of(rides)
    before = remember(tracks[:-1])
    after = recall(remember(tracks, previous=before), OPEN_OCEAN)
    full = build_network(tracks, OPEN_OCEAN)
    assert degrees(after) == degrees(full)
    assert largest_gap_m(after, full) < 2.0
    assert [len(s.passes) for s in after.stretches] == [len(s.passes) for s in full.stretches]


def test_a_ride_on_well_known_ground_leaves_the_lines_alone() -> None:
    tracks = tracks_of(40)
    before = remember(tracks[:-1])
    after = remember(tracks, previous=before)
    assert after.fitted is before.fitted
    assert len(after.overs) > len(before.overs)


def test_the_same_rides_again_are_free() -> None:
    tracks = tracks_of(5)
    before = remember(tracks)
    assert remember(tracks[::-1], previous=before) is before


def test_a_ride_taken_away_is_forgotten() -> None:
    tracks = tracks_of(6)
    before = remember(tracks)
    after = recall(remember(tracks[:5], previous=before), OPEN_OCEAN)
    rides = {one.ride for stretch in after.stretches for one in stretch.passes}
    assert rides == {track.ride for track in tracks[:5]}


def test_new_ground_is_found() -> None:
    tracks = tracks_of(8)
    xy = winding() + np.array([0.0, 600.0])
    far = clean_rides(as_rides([recorded(xy, start=2.0e9)]), OPEN_OCEAN)
    after = recall(remember((*tracks, *far), previous=remember(tracks)), OPEN_OCEAN)
    assert len(after.stretches) == 3


def test_a_memory_serves_several_networks() -> None:
    tracks = clean_rides(as_rides(rides_over(side_by_side(), rides=6)), OPEN_OCEAN)
    memory = remember(tracks)
    one, two = recall(memory, OPEN_OCEAN), recall(memory, OPEN_OCEAN)
    assert [s.xy.tobytes() for s in one.stretches] == [s.xy.tobytes() for s in two.stretches]
