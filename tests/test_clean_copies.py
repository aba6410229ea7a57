"""Recordings of one and the same ride count once."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from loopwright.clean import clean_rides
from loopwright.invented.park import OPEN_OCEAN
from loopwright.model.track import FaultKind, RecordedTrack
from network_help import START_S, as_rides, cleaned, faults_of, recorded, winding, words_of
from worlds import lap_rides, lollipop


def noisy(seed: int, **kwargs: float) -> RecordedTrack:
    rng = np.random.default_rng(seed)
    steps = rng.normal(0.0, 0.4, (200, 2)).cumsum(axis=0)
    return recorded(winding() + steps - steps.mean(axis=0), **kwargs)  # type: ignore[arg-type] # only start is given


def test_no_rides_give_no_tracks() -> None:
    assert cleaned([]) == ()


def test_the_same_file_twice_counts_once() -> None:
    track = noisy(1)
    found = cleaned([track, track])
    assert [t.used for t in found].count(True) == 1
    copy = next(t for t in found if not t.used)
    assert FaultKind.DUPLICATE in faults_of(copy)
    assert copy.pieces == ()


@pytest.mark.parametrize("hours", [-5, 1, 2, 10])
def test_an_export_with_its_clock_shifted_counts_once(hours: int) -> None:
    track = noisy(1)
    other = replace(track, time_s=track.time_s + 3600.0 * hours, lat=np.round(track.lat, 5))
    found = cleaned([track, other])
    assert [t.used for t in found].count(True) == 1
    copy = next(t for t in found if not t.used)
    assert "hour" in words_of(copy, FaultKind.DUPLICATE)


@pytest.mark.parametrize(("hours", "counted"), [(-26, 1), (26, 1), (27, 2)])
def test_no_two_clocks_are_further_apart_than_time_zones(hours: int, counted: int) -> None:
    """UTC-12 to UTC+14 are 26 hours (time zone database of IANA)."""
    track = noisy(1)
    found = cleaned([track, replace(track, time_s=track.time_s + 3600.0 * hours)])
    assert [t.used for t in found].count(True) == counted


def test_a_copy_cut_short_counts_once() -> None:
    track = noisy(1)
    part = slice(20, 180)
    short = RecordedTrack(
        name="cut", source="cut.gpx", lat=track.lat[part], lon=track.lon[part],
        ele_m=track.ele_m[part], time_s=track.time_s[part], piece=track.piece[part],
    )  # fmt: skip
    found = cleaned([short, track])
    assert [t.used for t in found] == [False, True]


def test_two_devices_on_one_ride_count_once() -> None:
    found = cleaned([noisy(1), noisy(2)])
    assert [t.used for t in found].count(True) == 1
    second = next(t for t in found if not t.used)
    assert FaultKind.TWO_DEVICES in faults_of(second)


def test_copies_without_times_count_once() -> None:
    track = replace(noisy(1), time_s=np.full(200, np.nan))
    found = cleaned([track, replace(track, ele_m=track.ele_m + 1.0)])
    assert [t.used for t in found].count(True) == 1


def test_rides_of_one_trail_on_other_days_all_count() -> None:
    found = cleaned([noisy(k, start=START_S + 86_400.0 * k) for k in range(5)])
    assert all(t.used for t in found)


def test_laps_at_the_same_hour_on_other_days_all_count() -> None:
    tracks = lap_rides(lollipop(), rides=5)
    assert all(t.used for t in cleaned(tracks))


def test_the_report_does_not_depend_on_the_order() -> None:
    tracks = [noisy(1), noisy(2), noisy(3, start=START_S + 86_400.0)]
    rides = as_rides(tracks)
    ahead = {t.ride: t.used for t in clean_rides(rides, OPEN_OCEAN)}
    back = {t.ride: t.used for t in clean_rides(rides[::-1], OPEN_OCEAN)}
    assert ahead == back


def test_what_a_recording_holds_is_not_held_twice() -> None:
    track = noisy(1)
    (clean,) = cleaned([track])
    (piece,) = clean.pieces
    assert np.shares_memory(piece.time_s, track.time_s)
    assert np.shares_memory(piece.ele_m, track.ele_m)
    assert track.piece.strides == (0,)
    (other,) = cleaned([noisy(2)])[0].pieces
    assert np.shares_memory(piece.index, other.index)


def test_heights_changed_in_cleaning_leave_the_recording_as_it_was() -> None:
    ele = np.full(200, 100.0)
    ele[80] = 900.0
    track = recorded(winding(), ele=ele)
    (clean,) = cleaned([track])
    assert np.isnan(clean.pieces[0].ele_m[80])
    assert clean.pieces[0].index.tolist() == list(range(200))
    assert track.ele_m[80] == 900.0
