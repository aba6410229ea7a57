"""A course on an even 1 m grid, with the limits of speed a setting gives it.

Gets a course and a setting. Gives a lane: arrays the compiled passes run over. Promises: every
value finite, unknown heights read as level, unknown ground as the prior for unknown ground.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from scipy.ndimage import minimum_filter1d, uniform_filter1d

from loopwright.model.arrays import Floats, Ints
from loopwright.model.course import Course
from loopwright.model.rider import Rider
from loopwright.pacing.belief import Setting
from loopwright.pacing.constants import (
    GRAVITY,
    PITCH_OVER,
    REAR_LOAD,
    STEEP_FROM,
    TOP_MPS,
    WHEEL_FACTOR,
)
from loopwright.pacing.physics import air_density, braking, corner_speed

STEP_M = 1.0
MEET_M = 10
"""Metres before and after the place where trails meet that belong to turning there (P)."""
LINE_M = 7
"""Riders take a wider line than the middle of the trail: curvature is averaged over 7 m (P)."""
TIGHTEST_M = 2.0
SHARPEST_M = 1.8
"""A corner cap starts 2 m before its place, and no corner counts as tighter than 1.8 m (P)."""
BANK = 0.2
"""Tangent of the cross slope taken for ground tagged banked, about 11 degrees (P)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lane:
    """The course on the grid, before any rider: all arrays ``(n,)``.

    ``meets`` is 1 where the way turns by a right angle or more into another trail, less for less.
    """

    dist_m: Floats
    step_m: float
    grade: Floats
    curvature_per_m: Floats
    bank: Floats
    surface: Ints
    roughness: Ints
    meets: Floats
    air: float
    closed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """What holds the rider on the grid: speeds in m/s, ``hold`` m/s^2, forces in N."""

    corner: Floats
    cap: Floats
    hold: Floats
    pull: Floats
    most: Floats
    drag: float
    per: float
    walk_mps: float


def lane_of(course: Course) -> Lane:
    """Put the course on a grid of about 1 m."""
    steps = max(round(course.length_m / STEP_M), 2)
    dist = np.linspace(0.0, course.length_m, steps + 1)
    mode: Literal["wrap", "nearest"] = "wrap" if course.closed else "nearest"
    bend = np.interp(dist, course.dist_m, np.nan_to_num(course.curvature_per_m))
    nearest = _nearest(course.dist_m, dist)
    return Lane(
        dist_m=dist,
        step_m=float(dist[1]),
        grade=np.interp(dist, course.dist_m, np.nan_to_num(course.grade)),
        curvature_per_m=uniform_filter1d(bend, LINE_M, mode=mode),
        bank=BANK * np.minimum(course.banked[nearest], 1),
        surface=course.surface[nearest],
        roughness=course.roughness[nearest],
        meets=_meetings(course, dist),
        air=air_density(float(np.nanmean(course.ele_m)) if course.has_heights else 0.0),
        closed=course.closed,
    )


def meeting(turn: float) -> float:
    """How much of a turn, in radians, into another trail: 1 from a right angle on."""
    return min(abs(turn) / (np.pi / 2), 1.0)


def _meetings(course: Course, dist_m: Floats) -> Floats:
    """Where a lap turns from one arc into the next, and how much."""
    out = np.zeros(len(dist_m))
    size = course.length_m
    for end in course.arc_ends_m[: None if course.closed else -1].tolist():
        gap = np.abs((course.dist_m - end + size / 2) % size - size / 2)
        near = gap[:-1] <= MEET_M
        turn = float(
            (np.nan_to_num(course.curvature_per_m[:-1]) * np.diff(course.dist_m))[near].sum()
        )
        away = np.abs((dist_m - end + size / 2) % size - size / 2)
        out[away <= MEET_M] = meeting(turn)
    return out


def _nearest(have: Floats, want: Floats) -> Ints:
    right = np.clip(np.searchsorted(have, want), 1, len(have) - 1)
    return np.asarray(np.where(want - have[right - 1] < have[right] - want, right - 1, right))


def limits_of(lane: Lane, rider: Rider, setting: Setting, *, rim_kg: float = 0.0) -> Limits:
    """Caps, braking and resistance of one setting on the lane.

    ``rim_kg`` of the mass sits at the rim beyond what wheels usually weigh: speeding it up costs
    twice, as it turns and moves on.
    """
    mass = rider.mass_kg + rider.bike_kg
    slope = 1.0 / np.hypot(1.0, lane.grade)
    grip = setting.grip[lane.surface]
    radius = 1.0 / np.maximum(np.abs(lane.curvature_per_m), 1e-4)
    corner = corner_speed(np.maximum(radius, SHARPEST_M), grip, lane.bank)
    return Limits(
        corner=corner,
        cap=_caps(lane, corner, setting),
        hold=braking(setting.brake_share * grip, lane.grade, PITCH_OVER),
        pull=mass * GRAVITY * slope * (lane.grade + setting.rolling[lane.surface]),
        most=mass * GRAVITY * slope * np.minimum(REAR_LOAD * grip, setting.thrust),
        walk_mps=setting.walk_mps,
        drag=lane.air * setting.cda_m2,
        per=lane.step_m / (mass * WHEEL_FACTOR + rim_kg),
    )


def _caps(lane: Lane, corner: Floats, setting: Setting) -> Floats:
    """Corner and comfort caps; each reaches back a little, so braking ends before the place."""
    fall = np.maximum(-lane.grade - STEEP_FROM, 0.0)
    comfort = setting.comfort[lane.roughness] / (1.0 + setting.steep_slows * fall)
    cap = np.minimum(np.minimum(corner, comfort), TOP_MPS)
    back = round(TIGHTEST_M / lane.step_m)
    mode: Literal["wrap", "nearest"] = "wrap" if lane.closed else "nearest"
    return np.asarray(minimum_filter1d(cap, back + 1, mode=mode, origin=-((back + 1) // 2)))
