"""Laps found and timed in invented rides whose truth is known."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import pytest

from laps_help import Truth, leave_loop, push_aside, record, ride_loop, track_of
from loopwright.errors import NoAnswerError
from loopwright.laps import sheet_of
from loopwright.model.arrays import Floats
from loopwright.model.course import Course
from loopwright.model.ground import FeatureKind
from loopwright.model.ids import RideId, Way
from loopwright.model.laps import Lap, LapSheet
from loopwright.model.rider import Rider
from loopwright.model.track import CleanTrack
from loopwright.pacing import plan_lap
from pacing_help import course_of, feature, wiggly

RIDES = 12


@lru_cache(maxsize=8)
def loop_of(seed: int) -> Course:
    """A loop of about 2.6 km with 14 features."""
    length = course_of(wiggly(3000, seed=seed)).length_m
    marks = [
        feature(
            k + 1,
            FeatureKind.CORNER if k % 2 else FeatureKind.CLIMB,
            length * (k + 0.3) / 14,
            length * (k + 0.8) / 14,
        )
        for k in range(14)
    ]
    return course_of(wiggly(3000, seed=seed), features=marks, surface="gravel")


def complete(sheet: LapSheet) -> list[Lap]:
    return [lap for lap in sheet.laps if lap.complete]


@lru_cache(maxsize=RIDES)
def ridden(seed: int) -> tuple[Course, Truth, LapSheet, bool]:
    """Five laps and a bit at either end: every second ride at 4 s, some with a pause or a gap."""
    course, rng = loop_of(seed % 5), np.random.default_rng(seed)
    length, backward = course.length_m, seed % 5 == 4
    pauses = [(length * (1 + rng.uniform(0.1, 0.9)), 60.0)] if seed % 3 == 0 else []
    gaps = [(float(rng.uniform(500, 2000)), 30.0)] if seed % 4 == 1 else []
    truth = ride_loop(
        course,
        from_m=-rng.uniform(0.05, 0.4) * length,
        to_m=(5 + rng.uniform(0.1, 0.9)) * length,
        seed=seed,
        backward=backward,
        pauses=pauses,
    )
    every = 1.0 if seed % 2 else 4.0
    return (
        course,
        truth,
        sheet_of(record(truth, seed=seed, every_s=every, gaps=gaps), course),
        backward,
    )


@pytest.mark.parametrize("seed", range(RIDES))
def test_no_lap_is_missed_or_invented(seed: int) -> None:
    course, _, sheet, backward = ridden(seed)
    assert [lap.complete for lap in sheet.laps] == [False, *[True] * 5, False]
    assert all(lap.way is (Way.BACKWARD if backward else Way.FORWARD) for lap in sheet.laps)
    assert all(lap.length_m == pytest.approx(course.length_m) for lap in complete(sheet))
    assert [lap.number for lap in sheet.laps] == [1, 2, 3, 4, 5, 6, 7]


def test_lap_times_are_right_to_a_second() -> None:
    misses: list[float] = []
    for seed in range(RIDES):
        course, truth, sheet, _ = ridden(seed)
        true = np.diff(truth.gate_times(course.length_m))
        found = [lap.elapsed_s for lap in complete(sheet)]
        misses += np.abs(np.array(found) - true).tolist()
    assert np.mean(np.array(misses) <= 1.0) >= 0.95
    assert max(misses) < 2.5


def split_misses(seed: int) -> tuple[Floats, Floats]:
    """Error and standard error of every split of ten seconds or more."""
    course, truth, sheet, backward = ridden(seed)
    length, rows = course.length_m, []
    for turn, lap in enumerate(complete(sheet)):
        for one in lap.splits:
            ends = (length - one.to_m, length - one.from_m) if backward else (one.from_m, one.to_m)
            at = turn * length + np.array(ends)
            a, b = np.interp(at, truth.progress_m, truth.time_s)
            if b - a >= 10:
                rows.append((one.elapsed_s - (b - a), one.std_error_s))
    table = np.array(rows)
    return table[:, 0], table[:, 1]


def test_splits_are_right_to_a_second_and_a_half_and_know_their_error() -> None:
    tables = [split_misses(seed) for seed in range(RIDES)]
    miss = np.concatenate([a for a, _ in tables])
    error = np.concatenate([b for _, b in tables])
    assert np.mean(np.abs(miss) <= 1.5) >= 0.95
    assert 0.8 < np.mean(np.abs(miss) <= 1.645 * error) < 0.98


@pytest.mark.parametrize("seed", [1, 4])
def test_splits_tile_a_complete_lap(seed: int) -> None:
    _, _, sheet, backward = ridden(seed)
    for lap in complete(sheet):
        assert sum(one.elapsed_s for one in lap.splits) == pytest.approx(lap.elapsed_s)
        order = lap.splits[::-1] if backward else lap.splits
        assert order[0].from_m == 0
        assert [a.to_m for a in order[:-1]] == pytest.approx([b.from_m for b in order[1:]])
        assert order[-1].to_m == pytest.approx(lap.length_m)


def test_a_pause_is_elapsed_but_not_moving() -> None:
    _, _, sheet, _ = ridden(3)
    rested = [lap for lap in complete(sheet) if lap.elapsed_s - lap.moving_s > 5]
    assert len(rested) == 1
    assert rested[0].elapsed_s - rested[0].moving_s == pytest.approx(60, abs=8)


@pytest.mark.parametrize(
    ("out_m", "skip_m"), [(300.0, 0.0), (200.0, 200.0), (120.0, 60.0)],
    ids=["wrong turn and back", "wrong turn and on", "short cut"],
)  # fmt: skip
@pytest.mark.parametrize("seed", [0, 1, 2])
def test_leaving_the_loop_is_told_and_not_counted(seed: int, out_m: float, skip_m: float) -> None:
    course = loop_of(seed)
    truth = ride_loop(course, from_m=-200, to_m=4.3 * course.length_m, seed=seed)
    gone = leave_loop(truth, at_m=2.4 * course.length_m, out_m=out_m, skip_m=skip_m)
    sheet = sheet_of(record(gone, seed=seed, every_s=1.0 if seed % 2 else 4.0), course)
    assert [lap.complete for lap in sheet.laps] == [False, True, True, False, True, False]
    assert "left the loop" in sheet.laps[3].note
    assert len(sheet.laps[3].splits) < len(sheet.laps[2].splits)
    assert sheet.median_s == pytest.approx(float(np.median([x.elapsed_s for x in complete(sheet)])))


def test_wobbling_ten_metres_off_still_counts() -> None:
    course = loop_of(2)
    truth = ride_loop(course, from_m=-100, to_m=3.2 * course.length_m, seed=2)
    wide = push_aside(truth, from_m=500, to_m=620, by_m=10.0)
    sheet = sheet_of(record(wide, seed=2), course)
    assert len(complete(sheet)) == 3


def test_a_ride_begun_and_ended_at_the_gate_has_only_whole_laps() -> None:
    course = loop_of(1)
    truth = ride_loop(course, from_m=0, to_m=3 * course.length_m, seed=7)
    sheet = sheet_of(record(truth, seed=7), course)
    assert [lap.complete for lap in sheet.laps] == [True] * 3
    total = sum(lap.elapsed_s for lap in sheet.laps)
    assert total == pytest.approx(truth.time_s[-1] - truth.time_s[0], abs=3)


def test_both_ways_in_one_ride() -> None:
    course = loop_of(0)
    there = ride_loop(course, from_m=0, to_m=2.05 * course.length_m, seed=1)
    back = ride_loop(
        course, from_m=-0.05 * course.length_m, to_m=3.2 * course.length_m, seed=2, backward=True
    )
    later = back.time_s - back.time_s[0] + there.time_s[-1] + 0.2
    both = Truth(
        time_s=np.concatenate((there.time_s, later)),
        xy=np.vstack((there.xy, back.xy)),
        progress_m=np.concatenate((there.progress_m, np.full(len(later), np.nan))),
    )
    sheet = sheet_of(record(both, seed=3), course)
    assert [lap.way for lap in complete(sheet)] == [Way.FORWARD] * 2 + [Way.BACKWARD] * 3


def test_best_median_fade_and_spread_are_of_complete_laps() -> None:
    _, _, sheet, _ = ridden(1)
    times = [lap.elapsed_s for lap in complete(sheet)]
    assert sheet.best_s == min(times)
    assert sheet.median_s == pytest.approx(float(np.median(times)))
    assert sheet.spread_s == pytest.approx(float(np.std(times, ddof=1)))
    assert sheet.fade_per_lap_s == pytest.approx(float(np.polyfit(range(5), times, 1)[0]))
    assert (sheet.fade_per_lap_s or 0) > 0


def test_ground_is_counted_by_surface() -> None:
    _, truth, sheet, _ = ridden(1)
    ridden_m = truth.progress_m[-1] - truth.progress_m[0]
    assert set(sheet.ground_m) == {"gravel"}
    assert sheet.ground_m["gravel"] == pytest.approx(ridden_m, rel=0.01)


def test_a_plan_gives_targets() -> None:
    course, truth, _, _ = ridden(1)
    plan = plan_lap(course, Rider())
    sheet = sheet_of(record(truth, seed=1), course, plan=plan)
    for lap in complete(sheet):
        assert sum(one.target_s or 0 for one in lap.splits) == pytest.approx(plan.lap_time_s)


def test_corners_have_speeds_and_nothing_else_has() -> None:
    _, _, sheet, _ = ridden(1)
    for one in complete(sheet)[0].splits:
        if "corner" in one.name:
            assert 0 < (one.lowest_mps or 0) <= (one.entry_mps or 0)
            assert (one.lowest_mps or 0) <= (one.exit_mps or 0)
        else:
            assert one.lowest_mps is None


def test_a_ride_elsewhere_gives_an_empty_sheet() -> None:
    course = loop_of(1)
    time = np.arange(0.0, 600.0)
    xy = np.column_stack((5000 + 4 * time, np.zeros(600)))
    sheet = sheet_of(track_of(xy, time + 1e9, np.arange(600)), course)
    assert sheet.laps == ()
    assert sheet.best_s is None
    assert sheet.spread_s is None
    assert sheet.ground_m == {}


@pytest.mark.parametrize("xy", [np.zeros((0, 2)), np.zeros((3, 2))])
def test_a_ride_without_times_is_refused_in_plain_words(xy: Floats) -> None:
    track = track_of(xy, np.full(len(xy), np.nan), np.arange(len(xy)))
    with pytest.raises(NoAnswerError, match="recorded"):
        sheet_of(track, loop_of(1))
    with pytest.raises(NoAnswerError, match="nothing usable"):
        sheet_of(CleanTrack(ride=RideId("none"), pieces=()), loop_of(1))


def test_the_same_ride_gives_the_same_sheet() -> None:
    course, truth, _, _ = ridden(1)
    track = record(truth, seed=1)
    assert sheet_of(track, course) == sheet_of(track, course)
