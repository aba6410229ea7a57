"""A course on an even 1 m grid.

Gets a course. Gives a lane: arrays the compiled passes run over. Promises: every value finite,
unknown heights read as level, unknown ground as the prior for unknown ground.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from scipy.ndimage import uniform_filter1d

from loopwright.model.arrays import Floats, Ints
from loopwright.model.course import Course
from loopwright.pacing.physics import air_density

STEP_M = 1.0
MEET_M = 10
"""Metres before and after the place where trails meet that belong to turning there (P)."""
LINE_M = 7
"""Riders take a wider line than the middle of the trail: curvature is averaged over 7 m (P)."""
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
