"""Every fault of a recording is handled and told in plain words."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from loopwright.app.told import in_table
from loopwright.clean import clean_rides
from loopwright.geo.frame import to_degrees
from loopwright.geo.polyline import length_m, project
from loopwright.invented.park import OPEN_OCEAN
from loopwright.model.document import PrivateCircle
from loopwright.model.track import CleanTrack, FaultKind, RecordedTrack
from network_help import (
    START_S,
    as_rides,
    cleaned,
    faults_of,
    recorded,
    winding,
    words_of,
)


def one(track: RecordedTrack) -> CleanTrack:
    """Clean a track; what is found in it must be ready for translation."""
    found = cleaned([track])[0]
    assert [fault.words for fault in found.faults if not in_table(fault.words)] == []
    return found


def worst_m(track: CleanTrack) -> float:
    """Furthest any kept point lies off the true line."""
    xy = np.vstack([piece.xy for piece in track.pieces])
    return float(np.abs(project(winding(), xy)[1]).max())


def test_a_good_ride_is_kept_whole_without_findings() -> None:
    xy = winding()
    track = one(recorded(xy))
    assert track.used
    assert track.faults == ()
    assert len(track.pieces) == 1
    assert np.allclose(track.pieces[0].xy, xy, atol=1e-3)
    assert track.pieces[0].index.tolist() == list(range(len(xy)))


@pytest.mark.parametrize("rows", [[50], [50, 51], [50, 51, 52, 53, 54, 55]])
def test_spikes_and_short_excursions_are_dropped(rows: list[int]) -> None:
    xy = winding()
    xy[rows] += [10.0, 60.0]
    track = one(recorded(xy))
    assert FaultKind.SPIKE in faults_of(track)
    assert worst_m(track) < 2.0
    assert str(len(rows)) in words_of(track, FaultKind.SPIKE)


def test_jumps_onward_are_no_excursion() -> None:
    """Two leaps ahead along the trail (no signal) leave every point where it was recorded."""
    xy = winding(1600.0)[np.r_[0:50, 80:88, 118:400]]
    track = one(recorded(xy))
    assert FaultKind.SPIKE not in faults_of(track)
    assert sum(len(piece.xy) for piece in track.pieces) == len(xy)


def test_a_freeze_is_cut_at_the_jump() -> None:
    xy = winding()
    xy[60:80] = xy[60]
    track = one(recorded(xy))
    assert FaultKind.FREEZE in faults_of(track)
    assert len(track.pieces) == 2
    assert worst_m(track) < 1.0


def test_a_pause_with_scatter_is_folded_and_keeps_its_time() -> None:
    rng = np.random.default_rng(4)
    xy = winding()
    rest = xy[100] + rng.normal(0.0, 2.0, (120, 2))
    whole = np.vstack((xy[:100], rest, xy[100:]))
    track = one(recorded(whole))
    assert FaultKind.PAUSE in faults_of(track)
    assert len(track.pieces) == 1
    piece = track.pieces[0]
    assert length_m(piece.xy) == pytest.approx(length_m(xy), abs=20.0)
    assert np.diff(piece.time_s).max() > 90.0
    assert piece.time_s[-1] - piece.time_s[0] == len(whole) - 1


@pytest.mark.parametrize(("rows", "words"), [(60, "s in all"), (150, "min in all")])
def test_a_short_pause_is_told_in_seconds(rows: int, words: str) -> None:
    xy = winding()
    rest = np.repeat(xy[100:101], rows, axis=0)
    rest = rest + np.random.default_rng(4).normal(0.0, 1.0, rest.shape)
    track = one(recorded(np.vstack((xy[:100], rest, xy[100:]))))
    said = words_of(track, FaultKind.PAUSE)
    assert words in said
    assert int(said.split(", ")[1].split()[0]) == pytest.approx(rows if rows < 90 else 2, abs=12)


def test_slow_climbing_is_no_pause() -> None:
    track = one(recorded(winding(step=1.0)))
    assert FaultKind.PAUSE not in faults_of(track)


def test_a_gap_is_cut_never_bridged() -> None:
    xy, time = winding(), np.arange(200.0)
    keep = (time < 90) | (time > 115)
    track = one(recorded(xy[keep], time=time[keep]))
    assert FaultKind.GAP in faults_of(track)
    assert len(track.pieces) == 2


@pytest.mark.parametrize("every", [5, 10, 30, 60])
def test_sparse_sampling_is_told_and_stays_one_piece(every: int) -> None:
    xy = winding(4000.0)[::every]
    track = one(recorded(xy, time=np.arange(float(len(xy))) * every))
    assert FaultKind.SPARSE in faults_of(track)
    assert f"every {every} s" in words_of(track, FaultKind.SPARSE)
    assert len(track.pieces) == 1


def test_positions_repeated_by_up_sampling_are_folded() -> None:
    xy = np.repeat(winding(step=8.0), 2, axis=0)
    track = one(recorded(xy))
    assert FaultKind.REPEATED in faults_of(track)
    assert len(track.pieces[0].xy) == len(xy) // 2


def test_times_out_of_order_or_twice_are_dropped() -> None:
    time = np.arange(200.0)
    time[50], time[90], time[120] = 49.0, 5000.0, 3.0
    track = one(recorded(winding(), time=time))
    assert FaultKind.TIME_ORDER in faults_of(track)
    assert words_of(track, FaultKind.TIME_ORDER).startswith("3 points")
    assert (np.diff(track.pieces[0].time_s) > 0).all()


def test_segments_in_the_wrong_order_are_put_right() -> None:
    track = recorded(winding(), time=np.concatenate((np.arange(100.0, 200.0), np.arange(100.0))))
    track = replace(track, piece=np.repeat([0, 1], 100).astype(np.int32))
    found = one(track)
    assert FaultKind.TIME_ORDER in faults_of(found)
    assert len(found.pieces) == 2
    assert found.pieces[0].index[0] == 100


def test_several_segments_stay_apart() -> None:
    track = replace(recorded(winding()), piece=np.repeat([0, 1], 100).astype(np.int32))
    assert len(one(track).pieces) == 2


@pytest.mark.parametrize("time", [np.full(200, np.nan), np.zeros(200)])
def test_a_ride_without_times_still_counts(time: np.ndarray) -> None:
    track = one(recorded(winding(), time=time))
    assert track.used
    assert FaultKind.NO_TIME in faults_of(track)
    assert np.isnan(track.pieces[0].time_s).all()


@pytest.mark.parametrize("ele", [np.nan, 0.0])
def test_missing_or_zero_heights_are_unknown(ele: float) -> None:
    track = one(recorded(winding(), ele=ele))
    assert FaultKind.NO_HEIGHT in faults_of(track)
    assert np.isnan(track.pieces[0].ele_m).all()


def test_single_zero_heights_are_dropped() -> None:
    ele = np.full(200, 300.0)
    ele[[10, 11, 90]] = 0.0
    track = one(recorded(winding(), ele=ele))
    assert int(np.isnan(track.pieces[0].ele_m).sum()) == 3


def test_a_height_offset_is_told() -> None:
    rng = np.random.default_rng(1)
    tracks = []
    for k, offset in enumerate((0.0, 1.0, -1.0, 30.5)):
        xy = winding() + rng.normal(0.0, 2.0, 2)
        tracks.append(recorded(xy, ele=200.0 + offset, start=START_S + 86_400.0 * k))
    found = cleaned(tracks)
    assert [FaultKind.HEIGHT_OFFSET in faults_of(track) for track in found] == [0, 0, 0, 1]
    assert "30 m high" in words_of(found[3], FaultKind.HEIGHT_OFFSET)


def test_private_ends_are_trimmed_and_the_middle_stays() -> None:
    xy = np.vstack((winding(), winding()[::-1]))
    lat, lon = to_degrees(OPEN_OCEAN, np.zeros((1, 2)))
    circle = PrivateCircle(lat=float(lat[0]), lon=float(lon[0]), radius_m=100.0)
    track = clean_rides(as_rides([recorded(xy)]), OPEN_OCEAN, private=circle)[0]
    kept = np.vstack([piece.xy for piece in track.pieces])
    assert FaultKind.PRIVATE in faults_of(track)
    assert np.hypot(*kept.T).min() > 99.0


def test_a_ride_that_stays_out_of_the_private_circle_is_left_whole() -> None:
    lat, lon = to_degrees(OPEN_OCEAN, np.array([[-150.0, 0.0]]))
    circle = PrivateCircle(lat=float(lat[0]), lon=float(lon[0]), radius_m=100.0)
    (track,) = clean_rides(as_rides([recorded(winding())]), OPEN_OCEAN, private=circle)
    assert FaultKind.PRIVATE not in faults_of(track)
    assert track.pieces[0].index.tolist() == list(range(len(winding())))


@pytest.mark.parametrize(
    ("xy", "reason"),
    [
        (np.zeros((0, 2)), "only 0 usable points"),
        (np.zeros((3, 2)), "usable point"),
        (np.random.default_rng(1).normal(0, 3, (300, 2)), "shows no trail"),
        (winding(8000.0, step=40.0) + 0.0, "vehicle"),
        (winding() + 300_000.0, "km from this area"),
    ],
)
def test_useless_recordings_are_refused_with_the_reason(xy: np.ndarray, reason: str) -> None:
    track = one(recorded(xy))
    assert not track.used
    assert track.pieces == ()
    assert reason in words_of(track, FaultKind.USELESS)


def test_points_that_are_no_places_are_dropped() -> None:
    good = recorded(winding())
    lat = np.array(good.lat)
    lat[[5, 6]] = np.nan
    track = one(replace(good, lat=lat))
    assert track.used
    assert 5 not in track.pieces[0].index


def test_points_without_a_time_among_timed_ones_are_dropped() -> None:
    xy = winding()
    time = np.arange(len(xy), dtype=np.float64)
    time[[3, 70, 71]] = np.nan
    track = one(recorded(xy, time=time))
    assert words_of(track, FaultKind.NO_TIME).startswith("3 points without a time dropped")
    kept = np.concatenate([piece.index for piece in track.pieces]).tolist()
    assert kept == [row for row in range(len(xy)) if row not in {3, 70, 71}]


def test_repeats_of_a_ride_without_times_are_dropped_and_cut_nothing() -> None:
    xy = winding()
    xy[60:80] = xy[60]
    track = one(recorded(xy, time=np.full(len(xy), np.nan)))
    assert FaultKind.FREEZE not in faults_of(track)
    assert words_of(track, FaultKind.REPEATED).startswith("19 points repeating")
    kept = np.concatenate([piece.index for piece in track.pieces]).tolist()
    assert kept == [*range(61), *range(80, len(xy))]


def test_a_ride_of_single_points_is_useless() -> None:
    xy = winding(400.0)
    whole = recorded(xy, time=np.full(len(xy), np.nan))
    track = one(replace(whole, piece=np.arange(len(xy), dtype=np.int32)))
    assert not track.used
    assert track.pieces == ()
    assert "falls apart into single points" in words_of(track, FaultKind.USELESS)
