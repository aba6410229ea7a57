"""Straights and steady parts along a smoothed profile.

Gets a profile and its corners; gives index runs. Both read the same ridden either way.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from loopwright.features.bends import Bend
from loopwright.features.runs import SLACK, Run, runs_of
from loopwright.geo.curvature import mean_over
from loopwright.model.arrays import Floats, Ints
from loopwright.model.ground import Profile

STRAIGHT_LENGTH_M = 60.0
STRAIGHT_RADIUS_M = 80.0
STRAIGHT_GRADE = 0.04
BEND_WINDOW_M = 15.0
"""Curvature of a straight is a mean over this length, so that a wobble of the line is none."""
STEADY_LENGTH_M = 100.0
STEADY_BAND = 0.04
"""Highest less lowest grade of a steady part, as a ratio."""
STEADY_WINDOW_M = 50.0
"""Grades of a steady part are means over this length: an even effort rides through less."""
GRADE_WINDOW_M = 20.0
EDGE_WINDOW_M = 5.0


def straights(profile: Profile) -> list[Run]:
    """Stations of every straight; none without heights, for then nobody knows the grade."""
    dist = profile.dist_m
    level = np.abs(_grade(profile, GRADE_WINDOW_M)) <= STRAIGHT_GRADE + SLACK
    holds = level & (_bend(profile, BEND_WINDOW_M) < 1 / STRAIGHT_RADIUS_M)
    # Near a bend the long mean sees it too early: there the short one decides.
    holds |= level & (_bend(profile, EDGE_WINDOW_M) < 1 / STRAIGHT_RADIUS_M) & _beside(holds, dist)
    least = STRAIGHT_LENGTH_M - SLACK
    return [run for run in runs_of(holds) if dist[run[1]] - dist[run[0]] >= least]


def _bend(profile: Profile, window_m: float) -> Floats:
    return np.abs(mean_over(profile.curvature_per_m, profile.dist_m, window_m=window_m))


def _beside(holds: NDArray[np.bool_], dist: Floats) -> NDArray[np.bool_]:
    """Tell which stations lie within half a window of a long run that holds."""
    beside = np.zeros(len(holds), dtype=bool)
    for first, last in runs_of(holds):
        if dist[last] - dist[first] >= STRAIGHT_LENGTH_M - BEND_WINDOW_M - SLACK:
            reach = BEND_WINDOW_M / 2 + SLACK
            beside |= (dist >= dist[first] - reach) & (dist <= dist[last] + reach)
    return beside


def _grade(profile: Profile, window_m: float) -> Floats:
    return mean_over(profile.grade, profile.dist_m, window_m=window_m)


def steady_parts(profile: Profile, corners: Sequence[Bend]) -> list[Run]:
    """Parts without a corner whose grade stays within a band, together as long as can be."""
    dist, grade = profile.dist_m, _grade(profile, STEADY_WINDOW_M)
    free = np.isfinite(grade)
    for bend in corners:
        free[bend.first : bend.last + 1] = False
    return [part for run in runs_of(free) for part in _most(dist, grade, run)]


def _most(dist: Floats, grade: Floats, run: Run) -> list[Run]:
    """Choose parts of ``run`` that cover most of it, by going through it once."""
    offset, end = run
    run_m, grade = dist[offset : end + 1], grade[offset : end + 1]
    covered, begin = np.zeros(len(run_m)), np.full(len(run_m), -1)
    lates = np.searchsorted(run_m, run_m - STEADY_LENGTH_M + SLACK, side="right").tolist()
    for last, first in enumerate(_earliest(grade.tolist())):
        covered[last] = covered[max(0, last - 1)]
        late = lates[last]
        if late > first:
            gain = covered[first:late] + run_m[last] - run_m[first:late]
            best = int(gain.argmax())
            if gain[best] > covered[last]:
                covered[last], begin[last] = gain[best], first + best
    return [(offset + a, offset + b) for a, b in _chosen(begin)]


def _earliest(grade: list[float]) -> Iterator[int]:
    """For each station, the earliest from which the grade stays within the band up to it."""
    lows: deque[int] = deque()
    highs: deque[int] = deque()
    first = 0
    for last, here in enumerate(grade):
        while lows and grade[lows[-1]] >= here:
            lows.pop()
        while highs and grade[highs[-1]] <= here:
            highs.pop()
        lows.append(last)
        highs.append(last)
        while grade[highs[0]] - grade[lows[0]] > STEADY_BAND + SLACK:
            first = min(lows[0], highs[0]) + 1
            (lows if lows[0] < highs[0] else highs).popleft()
        yield first


def _chosen(begin: Ints) -> list[Run]:
    """Read the chosen parts off backwards."""
    parts: list[Run] = []
    last = len(begin) - 1
    while last > 0:
        if begin[last] >= 0:
            parts.append((int(begin[last]), last))
            last = int(begin[last])
        else:
            last -= 1
    return parts[::-1]
