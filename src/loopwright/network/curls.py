"""Lay straight what curls in a line but in none of its rides.

Gets a web and aligned samples. A line begins as one ride, curls of its error with it; where rides
go straight on there, samples lie on each part of the curl as rarely as it is longer than the way
they went. Promises: a bend that rides went round stays, and so does what only few rides show.
"""

from __future__ import annotations

import numpy as np

from loopwright.model.arrays import Floats
from loopwright.network.attract import Aligned
from loopwright.network.refit import beside, gather_evidence
from loopwright.network.stations import STATION_M, stations_of
from loopwright.network.web import Web

SPANS_M = (60.0, 40.0, 25.0, 15.0)
"""Lengths of line looked at, the longest first."""
TWISTED = 1.35
"""A line so many times longer than straight on may be a curl."""
AROUND_M = 30.0
"""How often rides pass is read off so far before and after."""
FEWEST = 2.5
"""Of fewer passes it cannot be told how many went straight on."""


def uncurl(web: Web, aligned: Aligned, ele: Floats, worse: Floats) -> int:
    """Straighten curls in place; gives how many. ``worse`` ``(n,)`` as for `refit`."""
    numbers = sorted(web.lines)
    table = stations_of([web.lines[k].xyz for k in numbers])
    near = beside(table, aligned, ele, worse)
    trust = gather_evidence(table, near, ele, np.ones(len(ele))).trust
    count = 0
    for place, number in enumerate(numbers):
        rows = slice(int(table.first[place]), int(table.first[place + 1]))
        curls = _curls(table.xyz[rows, :2], trust[rows])
        if curls:
            web.lines[number].xyz = _straight(table.xyz[rows], curls)
            count += len(curls)
    return count


def _curls(xy: Floats, trust: Floats) -> list[tuple[int, int]]:
    """First and last row of each curl in a line ``(n, 2)``, none over another."""
    seen = np.concatenate(([0.0], np.cumsum(trust)))
    free = np.ones(len(xy), dtype=bool)
    found = []
    for span in (round(metres / STATION_M) for metres in SPANS_M):
        if span + 2 >= len(xy):
            continue
        arc = span * STATION_M
        chord = np.hypot(*(xy[span:] - xy[:-span]).T)
        inside = (seen[span:-1] - seen[1:-span]) / (span - 1)
        for row in np.argsort(chord, kind="stable").tolist():
            if arc < TWISTED * chord[row]:
                break
            if not free[row : row + span + 1].all():
                continue
            around = _around(trust, row, row + span)
            if around >= FEWEST and inside[row] < around * (1.0 + chord[row] / arc) / 2:
                found.append((row, row + span))
                free[row : row + span + 1] = False
    return sorted(found)


def _around(trust: Floats, first: int, last: int) -> float:
    """Count passes before and after some rows; the fewer of both where both are seen."""
    size = round(AROUND_M / STATION_M)
    sides = [trust[max(first - size, 0) : first], trust[last + 1 : last + 1 + size]]
    return min((float(np.median(side)) for side in sides if len(side) > 1), default=0.0)


def _straight(xyz: Floats, curls: list[tuple[int, int]]) -> Floats:
    """Leave the inner vertices of curls out of a line ``(n, 3)``."""
    keep = np.ones(len(xyz), dtype=bool)
    for first, last in curls:
        keep[first + 1 : last] = False
    return xyz[keep]
