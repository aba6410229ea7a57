"""Formulas of riding against published and computed values."""

from __future__ import annotations

import numpy as np
import pytest

from loopwright.pacing import physics
from loopwright.pacing.constants import GRIP, ROLLING, SINGLE, WHEEL_FACTOR
from loopwright.pacing.physics import Load

MPH = 0.44704
FOOT = 0.3048


def test_road_power_matches_the_worked_example() -> None:
    # Martin and others 1998, doi 10.1123/jab.14.3.276; from memory, and computed again.
    load = Load(mass_kg=90, grade=0.003, rolling=0.0032, drag=1.2234 * 0.2609, gravity=9.81)
    aero = physics.aero_power_w(8.36, load, headwind=10.906 - 8.36)
    rolling, slope = physics.hold_power_w(8.36, load)
    bearings = physics.bearing_power_w(8.36)
    kinetic = physics.kinetic_power_w((8.28, 8.45), 56.42, mass_kg=90, inertia=0.14, radius_m=0.311)
    parts = [aero, rolling, bearings, slope, kinetic]
    assert parts == pytest.approx([158.69, 23.62, 1.37, 22.14, 2.30], abs=0.012)
    assert sum(parts) / 0.976 == pytest.approx(213.25, abs=0.05)


@pytest.mark.parametrize(
    ("power", "grade", "rolling", "speed"),
    [
        (250, 0.0, 0.0125, 9.1399),
        (250, 0.05, 0.0125, 4.6674),
        (250, 0.10, 0.020, 2.6272),
        (350, 0.15, 0.020, 2.6240),
        (0, -0.05, 0.0125, 11.8308),
        (0, -0.10, 0.020, 17.2478),
    ],
)
def test_steady_speed(power: float, grade: float, rolling: float, speed: float) -> None:
    # Computed independently: g 9.81, air 1.2, 80 kg, 0.35 m2, no losses.
    load = Load(mass_kg=80, grade=grade, rolling=rolling, drag=1.2 * 0.35, gravity=9.81)
    assert physics.steady_speed(power, load) == pytest.approx(speed, abs=6e-4)
    assert physics.riding_power_w(speed, load) == pytest.approx(power, abs=0.2)


def test_air_density_of_the_standard_atmosphere() -> None:
    # Computed from the International Standard Atmosphere (ISO 2533).
    found = [physics.air_density(height) for height in (0, 500, 1000, 1500, 2000)]
    assert found == pytest.approx([1.2250, 1.1673, 1.1116, 1.0581, 1.0065], abs=1e-4)


def test_heavy_wheels_make_mass_seem_larger() -> None:
    # 1 + I / (m r^2), computed for 85 kg and two heavy 29-inch wheels with tyres of 0.16 kg m2
    # each (from memory) rolling at 0.368 m.
    expected = 1 + 2 * 0.16 / (85 * 0.368**2)
    assert pytest.approx(expected, abs=5e-4) == WHEEL_FACTOR


@pytest.mark.parametrize(
    ("lean", "feet"),
    [
        (20, [26.5, 36.1, 47.1, 59.6, 73.6, 115.1, 165.7]),
        (15, [36, 49, 64, 81, 100, 156, 225]),
    ],
)
def test_lean_radius_in_feet(lean: float, feet: list[float]) -> None:
    # v^2 / (g tan lean) at 12 to 30 mph; 15 degrees as the AASHTO bicycle guide prints (memory).
    speeds = [mph * MPH for mph in (12, 14, 16, 18, 20, 25, 30)]
    found = [physics.lean_radius_m(v, lean) / FOOT for v in speeds]
    assert found == pytest.approx(feet, rel=0.008)


@pytest.mark.parametrize(
    ("kmh", "metres"),
    [(20, [11.74, 8.64, 5.45]), (30, [26.42, 19.45, 12.26]), (40, [46.97, 34.58, 21.80])],
)
def test_lean_radius_in_metres(kmh: float, metres: list[float]) -> None:
    # Computed independently at 15, 20 and 30 degrees, g 9.81.
    found = [physics.lean_radius_m(kmh / 3.6, lean, gravity=9.81) for lean in (15, 20, 30)]
    assert found == pytest.approx(metres, abs=0.01)


def test_side_friction_and_corner_speed_undo_each_other() -> None:
    # Radii and accepted friction: FHWA, Characteristics of Emerging Road and Trail Users, table 19.
    radius = np.array([3.1, 6.1, 9.2, 15.3, 25.4, 27.5])
    friction = np.array([0.61, 0.52, 0.36, 0.26, 0.18, 0.20])
    speed = physics.corner_speed(radius, friction, np.zeros(6))
    back = [physics.side_friction(v, r) for v, r in zip(speed, radius, strict=True)]
    assert back == pytest.approx(friction.tolist())
    assert np.all(speed < 30 / 3.6)


def test_a_bank_equal_to_the_lean_needs_no_grip() -> None:
    # Balance of forces: v^2 = g R tan b with no side force (any mechanics handbook).
    tan_20 = np.tan(np.radians(20))
    speed = physics.corner_speed(np.array([8.64]), np.zeros(1), np.array([tan_20]))
    assert speed[0] * 3.6 == pytest.approx(20, abs=0.02)


def test_grip_priors_lie_above_what_roads_are_built_for() -> None:
    # Side friction roads and paths are laid out for: 0.30-0.22 paved, 0.15-0.11 unpaved (AASHTO
    # bicycle guide, from memory). Riders on tyres for the ground hold more, so these are floors.
    assert all(GRIP[word].low >= 0.30 for word in ("asphalt", "concrete"))
    assert all(prior.low >= 0.11 for prior in GRIP.values())


def test_rolling_priors_cover_what_was_measured() -> None:
    # Bertucci and others 2013 (doi 10.1080/02640414.2013.792945): 0.015-0.017 on a 5.9 % road;
    # mean of a nine-tyre off-road study about 0.021. The others from memory.
    assert ROLLING["asphalt"].low < 0.015 < ROLLING["asphalt"].high
    assert ROLLING["unknown"].value == 0.021
    known = {"asphalt": (0.008, 0.012), "compacted": (0.012, 0.016), "gravel": (0.014, 0.020)}
    for word, (low, high) in known.items():
        assert low <= ROLLING[word].value <= high
    assert ROLLING["sand"].value >= 0.05
    assert SINGLE["cda_m2"].low == 0.32
    assert SINGLE["cda_m2"].high == 0.42


def test_light_wheels_make_mass_seem_larger_by_less() -> None:
    # 1 + I / (m r^2) for the pair: 0.14 kg m2 at 0.311 m on 90 kg (Martin and others 1998) is
    # 1.016, the road figure; computed.
    speeds, seconds = (8.28, 8.45), 56.42
    light = physics.kinetic_power_w(speeds, seconds, mass_kg=90, inertia=0.14, radius_m=0.311)
    none = physics.kinetic_power_w(speeds, seconds, mass_kg=90, inertia=0.0, radius_m=0.311)
    assert light / none == pytest.approx(1.016, abs=5e-4)


def test_most_braking_is_less_than_the_front_wheel_allows() -> None:
    # Beck 2009: the rear brake alone gives 65 % of both; dirt nearly as good as pavement. So the
    # plan's usual share of the grip lies near the rear brake's.
    assert SINGLE["brake_share"].low < 0.65 < SINGLE["brake_share"].high


def test_stopping_sight_distance_in_feet() -> None:
    # AASHTO bicycle guide form, 2.5 s and 0.25; its chart reads about 125 ft at 20 mph.
    found = physics.stopping_distance_m(20 * MPH, friction=0.25) / FOOT
    assert found == pytest.approx(126.7, abs=0.4)


@pytest.mark.parametrize(("grade", "metres"), [(0.0, 35.6), (-0.10, 45.1), (-0.15, 56.9)])
def test_stopping_sight_distance_in_metres(grade: float, metres: float) -> None:
    # The same at 30 km/h. The guide's metric form writes V / 1.4 for 2.5 s x V / 3.6, which is
    # 0.6 m more at this speed.
    rounded = 30 / 1.4 - 2.5 * 30 / 3.6
    found = physics.stopping_distance_m(30 / 3.6, friction=0.25, grade=grade)
    assert found + rounded == pytest.approx(metres, abs=0.1)


def test_braking_is_weaker_downhill_and_never_over_the_bars() -> None:
    level, down = physics.braking(np.array([0.4, 0.4]), np.array([0.0, -0.15]), 0.56)
    assert level == pytest.approx(0.4 * 9.80665)
    assert down == pytest.approx((0.4 - 0.15) / np.hypot(1, 0.15) * 9.80665)
    assert physics.braking(np.array([0.9]), np.zeros(1), 0.56)[0] == pytest.approx(0.56 * 9.80665)
    assert physics.braking(np.array([0.1]), np.array([-0.4]), 0.56)[0] > 0


def test_riders_look_one_to_three_seconds_ahead() -> None:
    # Nee and Herterich 2022, doi 10.1007/s12283-022-00376-3.
    assert physics.look_ahead_m(6.0) == (6.0, 18.0)
