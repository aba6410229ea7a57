"""Gears, cadence, torque and feel."""

from __future__ import annotations

from dataclasses import replace
from math import pi

import pytest

from loopwright.model.rider import Rider
from loopwright.pacing.feel import assumed_ratio, cr10_band, heart_band
from loopwright.pacing.gears import cadence_rpm, gear_for, torque_nm


def test_torque_is_power_over_angular_speed() -> None:
    # P = T w (any mechanics handbook): 300 W at 60 rpm is 300 / (2 pi) = 47.75 N m.
    assert torque_nm(300.0, 60.0) == pytest.approx(300 / (2 * pi))
    assert torque_nm(300.0, 0.0) == 0.0


def test_cadence_from_speed_and_teeth() -> None:
    # 10 km/h on a 2.31 m wheel is 72.15 wheel turns a minute; times 24/32.
    speed = 10 / 3.6
    found = cadence_rpm(speed, wheel_m=2.31, chainring=32, sprocket=24)
    assert found == pytest.approx(speed / 2.31 * 60 * 24 / 32)
    assert found == pytest.approx(54.1, abs=0.1)


@pytest.mark.parametrize("speed", [1.0, 2.5, 4.0, 7.0])
def test_the_gear_is_the_nearest_there_is(speed: float) -> None:
    rider = Rider()
    found = gear_for(speed, rider)
    assert found is not None
    all_rpm = [
        cadence_rpm(speed, wheel_m=rider.wheel_m, chainring=32, sprocket=teeth)
        for teeth in rider.sprockets
    ]
    assert abs(found.cadence_rpm - 60) == min(abs(rpm - 60) for rpm in all_rpm)
    assert found.words == f"32 x {found.sprocket}"


def test_no_teeth_no_gear() -> None:
    assert gear_for(3.0, replace(Rider(), sprockets=())) is None


def test_feel_rises_with_effort() -> None:
    bands = [cr10_band(ratio) for ratio in (0.3, 0.5, 0.7, 0.9, 1.0, 1.1, 1.2, 1.5)]
    assert bands == sorted(bands)
    assert bands[0] == (1, 2)
    assert bands[-1] == (9, 10)


def test_heart_rate_needs_a_maximum_and_time() -> None:
    assert heart_band(1.0, most_bpm=None, seconds=300) is None
    assert heart_band(1.0, most_bpm=190, seconds=20) is None
    band = heart_band(1.0, most_bpm=190, seconds=300)
    assert band is not None
    assert 150 < band[0] < band[1] < 190


def test_short_efforts_are_taken_to_be_harder() -> None:
    assert assumed_ratio(300) > assumed_ratio(1200) > 1 > assumed_ratio(4000)
