"""Formulas of riding: resistance, corners, braking, critical power.

Gets and gives plain numbers or arrays in SI units. Promises: no state, no defaults hidden in the
formulas; every formula names its source.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loopwright.model.arrays import Floats
from loopwright.pacing.constants import GRAVITY


def air_density(height_m: float) -> float:
    """Air density in kg/m^3 of the International Standard Atmosphere (ISO 2533), below 11 km."""
    kelvin = 288.15 - 0.0065 * height_m
    pascal = 101_325.0 * (kelvin / 288.15) ** 5.25588
    return float(pascal / (287.0529 * kelvin))


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """A moving rider and bicycle: ``grade`` rise over run, ``drag`` air density x area in kg/m."""

    mass_kg: float
    grade: float
    rolling: float
    drag: float
    gravity: float = GRAVITY


def aero_power_w(speed: float, load: Load, *, headwind: float = 0.0) -> float:
    """Power against the air: drag (v + w)^2 v / 2 (Martin and others 1998)."""
    return 0.5 * load.drag * (speed + headwind) ** 2 * speed


def hold_power_w(speed: float, load: Load) -> tuple[float, float]:
    """Power against rolling resistance and against the slope (Martin and others 1998)."""
    weight = load.mass_kg * load.gravity / float(np.hypot(1.0, load.grade))
    return speed * weight * load.rolling, speed * weight * load.grade


def bearing_power_w(speed: float) -> float:
    """Power lost in bearings: (91 + 8.7 v) v / 1000 (Martin and others 1998)."""
    return speed * (91.0 + 8.7 * speed) * 1e-3


def kinetic_power_w(
    speeds: tuple[float, float], seconds: float, *, mass_kg: float, inertia: float, radius_m: float
) -> float:
    """Mean power to change speed, wheels turning: (m + I/r^2)(v2^2 - v1^2)/(2 t)."""
    heavy = mass_kg + inertia / radius_m**2
    return 0.5 * heavy * (speeds[1] ** 2 - speeds[0] ** 2) / seconds


def riding_power_w(speed: float, load: Load) -> float:
    """Power at the wheel for steady ``speed`` m/s in still air, without bearings."""
    return aero_power_w(speed, load) + sum(hold_power_w(speed, load))


def steady_speed(power: float, load: Load) -> float:
    """Speed in m/s at which ``power`` W at the wheel just holds; 0 if it never moves."""
    low, high = 0.0, 100.0
    for _ in range(80):
        middle = (low + high) / 2
        low, high = (middle, high) if riding_power_w(middle, load) < power else (low, middle)
    return (low + high) / 2


def corner_speed(radius_m: Floats, grip: Floats, bank: Floats) -> Floats:
    """Highest speed in m/s round ``radius_m``; ``bank`` is the tangent of the cross slope.

    v^2 = g R (tan b + mu) / (1 - mu tan b), the balance of forces on a banked curve (any
    mechanics handbook). Infinite where mu tan b reaches 1.
    """
    below = np.maximum(1.0 - grip * bank, 1e-9)
    return np.sqrt(GRAVITY * radius_m * (bank + grip) / below)


def braking(grip: Floats, grade: Floats, most: float) -> Floats:
    """Largest slowing in m/s^2: grip times the weight on the slope, less the pull downhill.

    Never above ``most`` g (going over the front wheel), never below a quarter of it uphill or
    0.3 m/s^2 where the slope outweighs the grip (the rider crawls).
    """
    slope = 1.0 / np.hypot(1.0, grade)
    hold = np.minimum(grip, most) * slope + np.minimum(grade, 0.0) * slope
    return np.maximum(hold * GRAVITY, 0.3)


def stopping_distance_m(
    speed: float, *, friction: float, grade: float = 0.0, reaction_s: float = 2.5
) -> float:
    """Sight distance to stop: v t + v^2 / (2 g (f + G)) (AASHTO bicycle guide form)."""
    return speed * reaction_s + speed**2 / (2 * 9.81 * (friction + grade))


def lean_radius_m(speed: float, lean_deg: float, *, gravity: float = GRAVITY) -> float:
    """Smallest radius ridden at ``speed`` m/s leaning ``lean_deg``: v^2 / (g tan lean)."""
    return float(speed**2 / (gravity * np.tan(np.radians(lean_deg))))


def side_friction(speed: float, radius_m: float, *, gravity: float = GRAVITY) -> float:
    """Side grip used on a flat curve: v^2 / (g R)."""
    return speed**2 / (gravity * radius_m)


def look_ahead_m(speed: float) -> tuple[float, float]:
    """Metres covered in 1 and in 3 s: how far riders look (Nee and Herterich 2022)."""
    return speed, 3 * speed
