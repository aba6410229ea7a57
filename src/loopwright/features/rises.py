"""Climbs and descents along a smoothed profile.

Gets stations and heights; gives index runs and their figures. A descent is a climb of the profile
read the other way. Promises: every steep climb lies within a climb.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loopwright.features.runs import SLACK, Run, bridged, runs_of
from loopwright.model.arrays import Floats

CLIMB_GRADE = 0.03
CLIMB_LENGTH_M = 30.0
CLIMB_GAIN_M = 6.0
CLIMB_GAP_M = 5.0
CLIMB_DIP_M = 0.5
STEEP_GRADE = 0.10
STEEP_LENGTH_M = 30.0
STEEP_GAP_M = 5.0
GRADE_OVER_M = 20.0
GRADE_MAX_OVER_M = 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Rise:
    """A rise from station ``first`` to ``last``; grades are ratios, positive."""

    first: int
    last: int
    gain_m: float
    grade_mean: float
    grade_max: float


def climbs(dist_m: Floats, ele_m: Floats) -> list[Rise]:
    """Climbs in the direction of rising ``dist_m`` ``(n,)``; none without heights."""
    grade = _grades(dist_m, ele_m)
    joined: list[Run] = []
    for first, last in _vertex_runs(grade >= CLIMB_GRADE - SLACK):
        if joined and _goes_on(dist_m, ele_m, joined[-1][1], first):
            joined[-1] = (joined[-1][0], last)
        else:
            joined.append((first, last))
    steep = steep_climbs(dist_m, ele_m)
    found = [_rise(dist_m, ele_m, run) for run in joined]
    return [rise for rise in found if _counts(dist_m, rise, steep)]


def _counts(dist_m: Floats, rise: Rise, steep: list[Rise]) -> bool:
    """Tell whether a rise is a climb: held, and high or steep enough to be felt as one."""
    felt = rise.gain_m >= CLIMB_GAIN_M - SLACK or any(
        rise.first <= part.first and part.last <= rise.last for part in steep
    )
    return felt and _length(dist_m, rise) >= CLIMB_LENGTH_M - SLACK


def steep_climbs(dist_m: Floats, ele_m: Floats) -> list[Rise]:
    """Where the grade is steep and held, in the direction of rising ``dist_m``."""
    grade = _grades(dist_m, ele_m)
    joined = bridged(_vertex_runs(grade >= STEEP_GRADE - SLACK), dist_m, gap_m=STEEP_GAP_M)
    found = [_rise(dist_m, ele_m, run) for run in joined]
    return [rise for rise in found if _held(dist_m, rise)]


def _held(dist_m: Floats, rise: Rise) -> bool:
    long_enough = _length(dist_m, rise) >= STEEP_LENGTH_M - SLACK
    return long_enough and rise.grade_mean >= STEEP_GRADE - SLACK


def _grades(dist_m: Floats, ele_m: Floats) -> Floats:
    """Grade ``(n - 1,)`` around each step over ``GRADE_OVER_M``; NaN heights give 0."""
    middle = (dist_m[:-1] + dist_m[1:]) / 2
    low = np.maximum(middle - GRADE_OVER_M / 2, dist_m[0])
    high = np.minimum(middle + GRADE_OVER_M / 2, dist_m[-1])
    rise = np.interp(high, dist_m, ele_m) - np.interp(low, dist_m, ele_m)
    return np.asarray(np.nan_to_num(rise / np.maximum(high - low, 1e-9)))


def _vertex_runs(steps: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> list[Run]:
    return [(first, last + 1) for first, last in runs_of(steps)]


def _goes_on(dist_m: Floats, ele_m: Floats, last: int, first: int) -> bool:
    near = dist_m[first] - dist_m[last] <= CLIMB_GAP_M + SLACK
    return bool(near and ele_m[last] - ele_m[last : first + 1].min() <= CLIMB_DIP_M + SLACK)


def _length(dist_m: Floats, rise: Rise) -> float:
    return float(dist_m[rise.last] - dist_m[rise.first])


def _rise(dist_m: Floats, ele_m: Floats, run: Run) -> Rise:
    first, last = run
    gain = float(ele_m[last] - ele_m[first])
    length = float(dist_m[last] - dist_m[first])
    dist, ele = dist_m[first : last + 1], ele_m[first : last + 1]
    ahead = np.minimum(dist + GRADE_MAX_OVER_M, dist[-1])
    span = np.maximum(ahead - dist, 1e-9)
    steep = (np.interp(ahead, dist, ele) - ele) / span
    whole = span >= min(GRADE_MAX_OVER_M, length) - 1e-6
    return Rise(
        first=first,
        last=last,
        gain_m=gain,
        grade_mean=gain / length,
        grade_max=float(steep[whole].max()),
    )
