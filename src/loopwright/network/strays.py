"""Drop lines that only show where receivers strayed from the line beside them.

Gets a web with its passes counted; takes away what the crowd nearby explains. Under cliffs and tall
buildings rides of one trail scatter over many metres, so that one line is seen as several strands;
anywhere a single recording may swing out and come back. Promises: what a strand joins stays joined
by another way.
"""

from __future__ import annotations

import heapq

import numpy as np
from scipy.spatial import cKDTree

from loopwright.model.arrays import Floats
from loopwright.network.shadows import BESIDE_SHARE, LONE, STRONG, Boxes, beside
from loopwright.network.stations import stations_of
from loopwright.network.web import Line, Web

ROUGH = 1.3
"""Passes that stray this many times more than usual may be seen as strands."""
STRAY_ERRORS = 2.3
"""A strand lies no further from a stronger one than so many standard errors of their difference,
were both ridden as rarely as it was."""
POOR_M = (3.5, 4.5)
POOR_ERRORS = ((1.6, 5.0), (2.6, 4.0), (4.0, 3.0))
"""Where rides usually err by so many metres or more, a line of fewer passes than the first may be
a strand so many standard errors off. Poor receivers swing further than their usual error tells, and
of thousands of looks the furthest are seen. Measured on invented walks with 3 to 6 m of error: of
lines of up to 2.6 passes nearer than this, 203 were strands and 4 were trails. Below the first
error nothing changes, from the second on the whole rule holds. One ride's figure would not do:
where few rides are compared it is itself a guess."""
STRAY_MOST_M = 60.0
SWINGS_M = (25.0, 45.0)
"""A single pass that leaves a well-ridden line and comes back swings out no further by error: usual
receivers, and those that wander. Reflections off rock and walls reach 40 m."""
WANDERS_M = (1.7, 2.0)
"""Wandering (`wander.py`) of usual receivers and of those that swing far: rides at 5 m of error
show 1.6 m, somebody on foot with 3 to 6 m and shade 2.0 to 2.3 m."""
CROWDS = (5.0, 3.0)
"""Passes that make a line well-ridden, for either: of so many riders one alone would know the other
way."""
DETOUR = 1.6
"""The other way round may be so many times as long, and out and back across besides."""


def drop_strays(web: Web, sigma: float, wander_m: float = 0.0) -> int:
    """Drop strays, the weakest first; gives how many went.

    ``sigma`` is a ride's usual error in metres, ``wander_m`` how far rides stray aside within a
    short run.
    """
    order = sorted(web.lines, key=lambda k: (web.lines[k].passes, web.lines[k].length_m, k))
    rank = {number: place for place, number in enumerate(order)}
    boxes, dropped = Boxes(web), 0
    swing_m = float(np.interp(wander_m, WANDERS_M, SWINGS_M))
    for number in order:
        line, tail_m = web.lines[number], _tail_m(web.lines[number], sigma)
        if line.parted or (not tail_m and line.passes > LONE):
            continue
        near = [k for k in boxes.near(number, STRAY_MOST_M) if k in web.lines]
        stronger = [web.lines[k] for k in near if rank[k] > rank[number]]
        reach_m = _strand_m(line, stronger, tail_m) or _swing_m(line, stronger, swing_m)
        if reach_m and _spare(web, number, reach_m, loose=tail_m > 0):
            web.drop_line(number)
            dropped += 1
    return dropped


def _tail_m(line: Line, sigma: float) -> float:
    """How far one pass over a line may lie off by error; 0 where receivers do well."""
    poor = float(np.interp(sigma * line.worse, POOR_M, (0.0, 1.0)))
    errors = next((errors for passes, errors in POOR_ERRORS if line.passes < passes), 0.0)
    rough_m = STRAY_ERRORS * sigma * line.worse * 2**0.5 if line.worse > ROUGH else 0.0
    return max(poor * errors * line.error_m, rough_m)


def _strand_m(line: Line, stronger: list[Line], tail_m: float) -> float:
    """How far errors reach from the stronger lines that explain a line; 0 when they do not."""
    strong = [other for other in stronger if other.passes >= STRONG]
    if not strong or not tail_m:
        return 0.0
    shares = np.array([1.0 / max(line.passes, 1.0) + 1.0 / other.passes for other in strong])
    reach_m = np.minimum(tail_m * np.sqrt(shares), STRAY_MOST_M)
    within = _within(line.xyz, [other.xyz for other in strong], reach_m)
    return float(reach_m.max()) if within else 0.0


def _swing_m(line: Line, stronger: list[Line], swing_m: float) -> float:
    """Tell the same of one pass beside a crowd, whatever its own error."""
    far = swing_m > SWINGS_M[0]
    crowd = [other.xyz for other in stronger if other.passes >= CROWDS[far]]
    if line.passes > LONE or not crowd:
        return 0.0
    # A far swing leaves at a steep angle: its sides run beside nothing.
    near = (
        _within(line.xyz, crowd, np.full(len(crowd), swing_m))
        if far
        else beside(line.xyz, crowd, swing_m)
    )
    return swing_m if near else 0.0


def _within(xyz: Floats, others: list[Floats], reach_m: Floats) -> bool:
    """Tell whether most of a line lies within each other's reach, whichever way it heads."""
    mine, table = stations_of([xyz]), stations_of(others)
    gap, row = cKDTree(table.xyz[:, :2]).query(mine.xyz[:, :2])
    return bool(np.mean(np.asarray(gap) <= reach_m[table.line[row]]) >= BESIDE_SHARE)


def _spare(web: Web, number: int, reach_m: float, *, loose: bool) -> bool:
    """Tell whether the web hangs together without a line: a way round, or a loose end."""
    line = web.lines[number]
    if line.a == line.b:
        return True
    if loose and 1 in {web.degree(line.a), web.degree(line.b)}:
        return True
    return _way_round(web, number, DETOUR * line.length_m + 2 * reach_m)


def _way_round(web: Web, number: int, most_m: float) -> bool:
    """Tell whether another way of at most ``most_m`` joins a line's ends."""
    start, goal = web.lines[number].a, web.lines[number].b
    best = {start: 0.0}
    heap = [(0.0, start)]
    while heap:
        run_m, node = heapq.heappop(heap)
        if node == goal:
            return True
        for other in sorted(web.at[node] - {number}):
            line = web.lines[other]
            to, far_m = line.b if line.a == node else line.a, run_m + line.length_m
            if far_m <= most_m and far_m < best.get(to, np.inf):
                best[to] = far_m
                heapq.heappush(heap, (far_m, to))
    return False
