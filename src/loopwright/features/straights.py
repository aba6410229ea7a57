"""Straights and steady parts along a smoothed profile.

Gets a profile and its corners; gives index runs. Both read the same ridden either way.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from loopwright.features.bends import Bend
from loopwright.features.runs import Run, runs_of
from loopwright.geo.curvature import mean_over
from loopwright.model.arrays import Floats
from loopwright.model.ground import Profile

STRAIGHT_LENGTH_M = 60.0
STRAIGHT_RADIUS_M = 80.0
STRAIGHT_GRADE = 0.04
BEND_WINDOW_M = 15.0
"""Curvature of a straight is a mean over this length, so that a wobble of the line is none."""
STEADY_LENGTH_M = 100.0
STEADY_BAND = 0.04
"""Highest less lowest grade of a steady part, as a ratio."""
GRADE_WINDOW_M = 20.0


def straights(profile: Profile) -> list[Run]:
    """Stations of every straight; none without heights, for then nobody knows the grade."""
    dist = profile.dist_m
    bend = np.abs(mean_over(profile.curvature_per_m, dist, window_m=BEND_WINDOW_M))
    grade = np.abs(_grade(profile))
    holds = (bend < 1 / STRAIGHT_RADIUS_M) & (grade <= STRAIGHT_GRADE)
    return [run for run in runs_of(holds) if dist[run[1]] - dist[run[0]] >= STRAIGHT_LENGTH_M]


def _grade(profile: Profile) -> Floats:
    return mean_over(profile.grade, profile.dist_m, window_m=GRADE_WINDOW_M)


def steady_parts(profile: Profile, corners: Sequence[Bend]) -> list[Run]:
    """Longest parts without a corner whose grade stays within a band, longest first taken."""
    dist, grade = profile.dist_m, _grade(profile)
    free = np.isfinite(grade)
    for bend in corners:
        free[bend.first : bend.last + 1] = False
    found: list[Run] = []
    waiting = runs_of(free)
    while waiting:
        run = waiting.pop()
        part = _longest(dist, grade, run)
        if dist[part[1]] - dist[part[0]] >= STEADY_LENGTH_M:
            found.append(part)
            rest = ((run[0], part[0] - 1), (part[1] + 1, run[1]))
            waiting += [(first, last) for first, last in rest if first < last]
    return sorted(found)


def _longest(dist: Floats, grade: Floats, run: Run) -> Run:
    """Find the longest part of ``run`` within the band, the earliest of equals."""
    best = (run[0], run[0])
    first = run[0]
    for last in range(run[0], run[1] + 1):
        while np.ptp(grade[first : last + 1]) > STEADY_BAND:
            first += 1
        if dist[last] - dist[first] > dist[best[1]] - dist[best[0]]:
            best = (first, last)
    return best
