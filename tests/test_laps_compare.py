"""Two rides side by side, sections over laps, corners and climbs."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest

from laps_help import record, ride_loop
from loopwright.laps import (
    climb_laps,
    compare,
    corner_laps,
    ground_ledger,
    section_times,
    sheet_of,
)
from loopwright.laps.compare import median_error_s
from loopwright.model.course import Course
from loopwright.model.ground import FeatureKind
from loopwright.model.ids import RideId, Way
from loopwright.model.laps import LapSheet
from loopwright.model.rider import Rider
from loopwright.model.track import RecordedTrack
from loopwright.pacing import plan_lap
from pacing_help import course_of, feature, wiggly

FEATURES = (
    replace(feature(1, FeatureKind.CLIMB, 200.0, 700.0), gain_m=40.0),
    feature(2, FeatureKind.CORNER, 400.0, 430.0),
    feature(3, FeatureKind.CORNER, 1000.0, 1030.0),
    feature(4, FeatureKind.DESCENT, 1300.0, 1700.0),
)


@lru_cache(maxsize=1)
def course() -> Course:
    return course_of(wiggly(2600, seed=1), features=FEATURES, surface="dirt")


@lru_cache(maxsize=4)
def sheet(seed: int, mean_mps: float = 5.0, *, backward: bool = False) -> LapSheet:
    loop = course()
    truth = ride_loop(
        loop, from_m=-80, to_m=4.05 * loop.length_m, seed=9, mean_mps=mean_mps, backward=backward
    )
    plan = plan_lap(loop, Rider())
    found = sheet_of(record(truth, seed=seed), loop, plan=plan)
    return replace(found, ride=RideId(f"ride{seed}"))


def test_a_faster_ride_is_clearly_faster() -> None:
    found = compare(sheet(1), sheet(2, 5.5))
    assert found.lap is not None
    assert found.lap.clear
    assert found.lap.difference_s == pytest.approx(found.lap.a_s * (5.0 / 5.5 - 1), rel=0.1)
    assert sum(one.difference_s for one in found.splits) == pytest.approx(
        found.lap.difference_s, abs=4
    )


def test_the_same_ride_recorded_twice_differs_by_no_more_than_errors() -> None:
    found = compare(sheet(1), sheet(3))
    misses = [abs(one.difference_s) / one.std_error_s for one in found.splits]
    assert np.mean(np.array(misses) < 1.645) >= 0.8
    assert not all(one.clear for one in found.splits)


def test_other_ways_and_other_loops_are_not_mixed_up() -> None:
    found = compare(sheet(1), sheet(4, backward=True))
    assert found.lap is None
    assert found.splits == ()
    with pytest.raises(ValueError, match="different loops"):
        compare(sheet(1), replace(sheet(2, 5.5), loop="another"))


def test_more_laps_make_a_median_surer() -> None:
    # Standard error of a median of n normal values: 1.2533 s / sqrt(n) (any statistics handbook).
    assert median_error_s([50.0] * 9, [1.0] * 9) == pytest.approx(1.2533 / 3, rel=1e-4)
    assert median_error_s([50.0], [1.0]) == 1.0
    spread = [45.0, 50.0, 55.0, 60.0]
    assert median_error_s(spread, [0.1] * 4) > 3


def test_sections_tell_where_time_went() -> None:
    rows = section_times(sheet(1))
    assert [row.from_m for row in rows[1:]] == pytest.approx([row.to_m for row in rows[:-1]])
    assert all(row.lost_s >= 0 and row.best_s <= row.median_s for row in rows)
    assert all(row.over_target_s is not None for row in rows)
    assert sum(row.fade_per_lap_s or 0 for row in rows) == pytest.approx(
        sheet(1).fade_per_lap_s or 0, rel=1e-6
    )
    assert section_times(replace(sheet(1), laps=())) == ()


def test_corners_are_followed_lap_by_lap() -> None:
    rows = corner_laps(sheet(1))
    assert [row.number for row in rows] == [2, 3]
    for row in rows:
        assert len(row.laps) == len(row.lowest_mps) == 4
        assert row.lowest_change_mps is not None
        assert all(
            low <= min(a, b)
            for low, a, b in zip(row.lowest_mps, row.entry_mps, row.exit_mps, strict=True)
        )


def test_ground_adds_up() -> None:
    total = ground_ledger([sheet(1), sheet(2, 5.5)])
    assert total["dirt"] == pytest.approx(2 * 4.05 * course().length_m, rel=0.03)


def recorded(power: float, cadence: float) -> RecordedTrack:
    """A meter that reads the same all through the ride, with nothing for ten seconds."""
    start = sheet(1).laps[0].start_s - 100
    time = np.arange(start, start + 4000.0)
    flat = np.zeros(len(time))
    watts = np.full(len(time), power)
    watts[120:130] = np.nan
    return RecordedTrack(
        name="", source="", lat=flat, lon=flat, ele_m=flat, time_s=time,
        piece=np.zeros(len(time), dtype=np.int32),
        extras={"power_w": watts, "cadence_rpm": np.full(len(time), cadence)},
    )  # fmt: skip


def test_climbs_have_a_rate_power_work_and_torque() -> None:
    rows = climb_laps(sheet(1), course(), recorded=recorded(240.0, 60.0))
    assert [row.lap for row in rows] == [lap.number for lap in sheet(1).laps if lap.complete]
    for row in rows:
        assert row.rate_m_per_h == pytest.approx(40 / row.elapsed_s * 3600)
        assert row.power_w == pytest.approx(240)
        assert row.work_kj == pytest.approx(0.24 * row.elapsed_s)
        assert row.torque_nm == pytest.approx(240 / (2 * np.pi))
        assert row.heart_rate_bpm is None


def test_climbs_without_a_meter_have_only_time_and_rate() -> None:
    for row in climb_laps(sheet(1), course()):
        assert row.elapsed_s > 0
        assert row.power_w is None
        assert row.torque_nm is None


def test_backward_the_descent_is_the_climb() -> None:
    found = sheet(4, backward=True)
    assert {lap.way for lap in found.laps} == {Way.BACKWARD}
    # The loop falls by 30 m over its descent, which lies between 1300 and 1700 m.
    loop = course()
    fall = np.interp(loop.dist_m, [1300.0, 1700.0, 2600.0], [30.0, 0.0, 30.0])
    rows = climb_laps(found, replace(loop, ele_m=fall), recorded=recorded(240.0, 60.0))
    whole = [lap for lap in found.laps if lap.complete]
    assert [row.lap for row in rows] == [lap.number for lap in whole]
    for row, lap in zip(rows, whole, strict=True):
        inside = [s for s in lap.splits if s.name.startswith("4 descent")]
        assert row.name == "4 descent ridden up"
        assert row.elapsed_s == pytest.approx(sum(s.elapsed_s for s in inside), rel=0.02)
        assert row.rate_m_per_h == pytest.approx(30 / row.elapsed_s * 3600, rel=0.02)
        assert row.power_w == pytest.approx(240)
