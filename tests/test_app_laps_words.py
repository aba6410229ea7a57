"""Rows of words for corners, climbs, sections and two rides."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from PySide6.QtWidgets import QComboBox
from pytestqt.qtbot import QtBot
from scipy import stats

from loopwright.app.laps_folds import ClimbsFold
from loopwright.app.laps_reading import LapsRead, climb_targets
from loopwright.app.laps_words import (
    climb_row,
    comparison_words,
    corner_clear,
    corner_row,
    difference_row,
    recorded_row,
    section_row,
    slope_error,
    target_words,
    was_recorded,
)
from loopwright.app.look import make_look
from loopwright.laps.climbs import ClimbLap
from loopwright.laps.compare import Comparison, Difference
from loopwright.laps.sections import CornerLaps, SectionTimes
from loopwright.model.ids import RideId, Way
from loopwright.model.laps import LapSheet
from loopwright.model.rider import SplitTarget
from loopwright.units import Units

PLAIN = ClimbLap(lap=1, number=3, name="3 climb", elapsed_s=90.0, rate_m_per_h=900.0)
FULL = replace(
    PLAIN, lap=2, power_w=250.0, work_kj=22.5, cadence_rpm=72.0, torque_nm=33.2,
    heart_rate_bpm=160.0,
)  # fmt: skip
TARGET = SplitTarget(
    number=3, name="3 climb", from_m=0.0, to_m=300.0, time_s=88.0, low_s=80.0, high_s=96.0,
    cadence_rpm=60.0, gear="32 x 33", torque_nm=40.0,
)  # fmt: skip


def difference(seconds: float, error: float) -> Difference:
    return Difference(
        number=1, name="1 corner left", from_m=0.0, to_m=20.0, a_s=10.0, b_s=10.0 + seconds,
        difference_s=seconds, std_error_s=error,
    )  # fmt: skip


def corner(*lowest_mps: float) -> CornerLaps:
    count = len(lowest_mps)
    slope = float(np.polyfit(np.arange(count), lowest_mps, 1)[0]) if count > 1 else None
    return CornerLaps(
        number=4, name="4 corner left", at_m=50.0, laps=tuple(range(1, count + 1)),
        entry_mps=(6.0,) * count, lowest_mps=lowest_mps, exit_mps=(5.0,) * count,
        lowest_change_mps=slope,
    )  # fmt: skip


def compared(lap: Difference | None, *splits: Difference) -> Comparison:
    return Comparison(
        loop="loop", a=RideId("a"), b=RideId("b"), way=Way.FORWARD, lap=lap, splits=splits
    )


def test_a_difference_within_its_error_is_unclear() -> None:
    assert difference_row(difference(-0.4, 0.5))[1:] == ["0:10.0", "0:09.6", "unclear"]
    assert difference_row(difference(-0.6, 0.5))[3] == "-0.6 s"


@pytest.mark.parametrize(
    ("seconds", "words"),
    [(3.0, "slower in this ride"), (-3.0, "faster in this ride"), (0.5, "No clear difference")],
)
def test_two_rides_in_a_sentence(seconds: float, words: str) -> None:
    said = comparison_words(compared(difference(seconds, 1.0), difference(2.0, 1.0)))
    assert words in said
    assert "1 of 1 sections" in said


def test_rides_in_opposite_directions_share_nothing() -> None:
    assert "share no complete lap" in comparison_words(compared(None))


def test_slope_error_against_scipy() -> None:
    values = [4.0, 4.3, 4.1, 4.8, 4.6]
    # Reference library: scipy.stats.linregress, stderr of the slope.
    reference = stats.linregress(np.arange(5.0), values).stderr
    assert slope_error(values) == pytest.approx(float(reference))
    assert slope_error(values[:2]) is None


def test_a_corner_says_how_its_lowest_speed_changes_if_that_is_clear() -> None:
    rising, wavering, two = corner(4.0, 4.5, 5.0, 5.6), corner(4.0, 5.0, 4.1, 4.8), corner(4.0, 5.0)
    assert corner_clear(rising)
    assert corner_row(rising, Units.METRIC) == ["4 left", "21.6", "17.1", "18.0", "+1.9"]
    assert corner_row(rising, Units.IMPERIAL)[1] == "13.4"
    assert corner_row(wavering, Units.METRIC)[4] == "unclear"
    assert corner_row(two, Units.METRIC)[4] not in {"unclear", "+3.6"}


def test_a_section_loses_what_is_more_than_its_error() -> None:
    section = SectionTimes(
        number=1, name="1 climb", from_m=0.0, to_m=9.0, best_s=60.0, median_s=61.5, lost_s=1.5,
        std_error_s=1.0,
    )  # fmt: skip
    assert section_row(section) == ["1 climb", "1:00.0", "1:01.5", "+1.5 s"]
    assert section_row(replace(section, std_error_s=2.0))[3] == "unclear"


def test_climbs_in_rows() -> None:
    assert climb_row(PLAIN, Units.METRIC) == ["1", "1:30.0", "900"]
    assert climb_row(PLAIN, Units.IMPERIAL)[2] == "2953"
    assert recorded_row(FULL) == ["2", "250", "22", "72", "33", "160"]
    assert was_recorded([PLAIN]) == [False] * 5
    assert was_recorded([PLAIN, FULL]) == [True] * 5


def test_cadence_and_torque_stand_against_the_plan() -> None:
    said = target_words([PLAIN, FULL], TARGET)
    assert "60 rpm in 32 x 33" in said
    assert "72 rpm, 12 higher" in said
    assert "33 N m, planned 40 N m" in said
    slower = target_words([replace(FULL, cadence_rpm=55.0)], TARGET)
    assert "55 rpm, 5 lower" in slower
    assert "as planned" in target_words([replace(FULL, cadence_rpm=60.2)], TARGET)
    assert target_words([PLAIN], None) == ""
    assert "Ridden" not in target_words([PLAIN], TARGET)


def test_only_climbs_with_a_gear_have_a_target() -> None:
    flat = replace(TARGET, number=4, cadence_rpm=None)
    on = replace(TARGET, from_m=320.0, cadence_rpm=65.0)
    assert climb_targets((TARGET, on, flat)) == {3: TARGET}


def test_the_climbs_fold_hides_what_was_not_recorded(qtbot: QtBot) -> None:
    fold = ClimbsFold(make_look("light"))
    qtbot.addWidget(fold)
    sheet = LapSheet(
        ride=RideId("r"), loop="l", laps=(), best_s=None, median_s=None, fade_per_lap_s=None,
        spread_s=None, ground_m={},
    )  # fmt: skip
    pulse = replace(PLAIN, lap=2, heart_rate_bpm=150.0)
    fold.show_read(LapsRead(sheet=sheet, climbs=(PLAIN, pulse), targets={3: TARGET}))
    assert not fold.isHidden()
    hidden = [fold.recorded.isColumnHidden(column) for column in range(6)]
    assert hidden == [False, True, True, True, True, False]
    assert isinstance(fold.names, QComboBox)
    fold.show_read(LapsRead(sheet=sheet, climbs=(PLAIN,), targets={}))
    assert fold.recorded.isHidden()
    assert fold.target.isHidden()
    assert "no power" in fold.missing.text()
    fold.show_read(None)
    assert fold.isHidden()
