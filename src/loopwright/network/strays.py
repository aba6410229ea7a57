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
from loopwright.network.shadows import BESIDE_SHARE, LONE, Boxes, beside
from loopwright.network.stations import stations_of
from loopwright.network.web import Line, Web

ROUGH = 1.3
"""Passes that stray this many times more than usual may be seen as strands."""
STRAY_ERRORS, STRAY_MOST_M = 2.3, 60.0
"""A strand lies no further from a stronger one than so many standard errors of their difference,
were both ridden as rarely as it was."""
SWING_M = 25.0
"""A single pass that leaves a well-ridden line and comes back swings out no further by error."""
CROWD = 5.0
"""Passes that make a line well-ridden: of so many riders one alone would know the other way."""
DETOUR = 1.6
"""The other way round may be so many times as long, and out and back across besides."""


def drop_strays(web: Web, sigma: float) -> int:
    """Drop strays, the weakest first; gives how many went. ``sigma`` is a ride's usual error."""
    order = sorted(web.lines, key=lambda k: (web.lines[k].passes, web.lines[k].length_m, k))
    rank = {number: place for place, number in enumerate(order)}
    boxes, dropped = Boxes(web), 0
    for number in order:
        line = web.lines[number]
        if line.worse <= ROUGH and line.passes > LONE:
            continue
        reach = _reach_m(line, sigma)
        near = [k for k in boxes.near(number, reach) if k in web.lines and rank[k] > rank[number]]
        if _explained(web, line, near, reach) and _spare(web, number, reach):
            web.drop_line(number)
            dropped += 1
    return dropped


def _reach_m(line: Line, sigma: float) -> float:
    if line.worse <= ROUGH:
        return SWING_M
    apart = STRAY_ERRORS * sigma * line.worse * float(np.sqrt(2.0 / max(line.passes, 1.0)))
    return min(max(apart, SWING_M if line.passes <= LONE else 0.0), STRAY_MOST_M)


def _explained(web: Web, line: Line, near: list[int], reach_m: float) -> bool:
    """Tell whether lines beside it are such that this one may be nothing but error."""
    rough = line.worse > ROUGH
    least = 2.0 if rough else CROWD
    strong = [web.lines[k].xyz for k in near if web.lines[k].passes >= least]
    if not strong:
        return False
    return _within(line.xyz, strong, reach_m) if rough else beside(line.xyz, strong, reach_m)


def _within(xyz: Floats, others: list[Floats], reach_m: float) -> bool:
    """Tell whether most of a line lies so near to others, whichever way it heads."""
    mine, table = stations_of([xyz]), stations_of(others)
    gap, _ = cKDTree(table.xyz[:, :2]).query(mine.xyz[:, :2])
    return bool(np.mean(np.asarray(gap) <= reach_m) >= BESIDE_SHARE)


def _spare(web: Web, number: int, reach_m: float) -> bool:
    """Tell whether the web hangs together without a line: a way round, or a loose end."""
    line = web.lines[number]
    if line.a == line.b:
        return True
    if line.worse > ROUGH and min(web.degree(line.a), web.degree(line.b)) == 1:
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
