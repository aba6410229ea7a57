"""Drop lines that are only a stray pass beside a well-ridden one.

Gets a web with its passes counted; takes away lines few rode that keep beside lines many rode,
nearer than the errors can tell. Promises: a link between two lines goes by making its ends one.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from loopwright.model.arrays import Floats
from loopwright.model.ids import RideId
from loopwright.network.attract import Aligned
from loopwright.network.passes import FLICKER, RUN_ON, Over, independent, passes_of
from loopwright.network.rows import Bools, Rows
from loopwright.network.samples import STEP_M, Samples
from loopwright.network.stations import abreast_of, stations_of
from loopwright.network.web import Web

COUNT_M = 4.0
BESIDE_ERRORS = 2.5
BESIDE_LEAST_M, BESIDE_MOST_M = 6.0, 10.0
"""A lone pass this many errors from a well-ridden line is most likely that line."""
LONE = 1.0
"""So few passes on average make a lone line; one rider's out and back on it would be two."""
STRONG = 2.0
"""The line beside must show at least this many times the passes of the lone one."""
BESIDE_SHARE = 0.8
TURN_S = 60.0
"""Who comes back along a line so soon has turned at its end."""


def count_passes(
    web: Web,
    samples: Samples,
    aligned: Aligned,
    ele: Floats,
    *,
    sigma: Floats,
    worse: Floats,
    by: Floats,
    parted: Bools,
) -> None:
    """Write to each line how many passes it shows, and how they err.

    ``sigma`` ``(n,)`` is each sample's error in metres, ``worse`` ``(n,)`` how many times its
    ride's usual error that is; ``by`` ``(n,)`` how many passes of all rides went by it; ``parted``
    ``(n,)`` marks samples laid apart from a line beside.
    """
    numbers = sorted(web.lines)
    table = stations_of([web.lines[k].xyz for k in numbers])
    near = abreast_of(table, aligned.xy, aligned.head, ele, reach_m=COUNT_M)
    rides = [RideId(str(k)) for k in range(int(samples.ride.max(initial=0)) + 1)]
    found: list[list[Over]] = [[] for _ in numbers]
    for over in passes_of(table, near, samples, aligned.head, rides=rides):
        found[over.line].append(over)
    for number, overs in zip(numbers, found, strict=True):
        web.lines[number].passes = independent(overs)
        web.lines[number].turned = _turned(overs)
    seen = near.station >= 0
    line = np.where(seen, table.line[near.station], -1)
    worse_m, error_m, by_line, apart = (
        _middle(line, values, len(numbers))
        for values in (worse, sigma, by, parted.astype(np.float64))
    )
    usual_m = float(np.median(sigma))
    for place, number in enumerate(numbers):
        known = bool(np.isfinite(error_m[place]))
        web.lines[number].worse = float(worse_m[place]) if known else web.lines[number].worse
        web.lines[number].error_m = float(error_m[place]) if known else usual_m
        went_by = float(by_line[place]) if known else 0.0
        web.lines[number].rides = max(went_by, web.lines[number].passes)
        web.lines[number].parted = known and bool(apart[place])


def _turned(overs: list[Over]) -> bool:
    """Tell whether one ride alone went along a line and turned back at its end."""
    if len({one.ride for one in overs}) != 1:
        return False
    return any(
        one.way is not two.way
        and (two.first - one.last <= RUN_ON or two.time_s - one.end_s <= TURN_S)
        for one, two in pairwise(sorted(overs, key=lambda over: over.first))
    )


def _middle(line: Rows, values: Floats, size: int) -> Floats:
    """Median of the values of each line ``(size,)``, the lower of two; NaN where there is none."""
    rows = np.flatnonzero(line >= 0)
    order = rows[np.lexsort((values[rows], line[rows]))]
    count = np.bincount(line[rows], minlength=size)
    middle = np.cumsum(count) - (count + 1) // 2
    out = np.full(size, np.nan)
    out[count > 0] = values[order[middle[count > 0]]]
    return out


def drop_shadows(web: Web, sigma: float) -> int:
    """Drop shadows, the weakest first; gives how many went. ``sigma`` is a ride's error."""
    beside_m = min(max(BESIDE_ERRORS * sigma, BESIDE_LEAST_M), BESIDE_MOST_M)
    order = web.weakest_first()
    boxes, dropped = Boxes(web), 0
    for number in order:
        line = web.lines[number]
        if line.passes > LONE:
            break
        if line.parted:
            continue
        least = max(STRONG * line.passes, 2.0)
        strong = [
            web.lines[k].xyz
            for k in boxes.near(number, beside_m)
            if k in web.lines and web.lines[k].passes >= least
        ]
        if strong and beside(line.xyz, strong, beside_m):
            if _link(web, number):
                web.contract(number)
            else:
                web.drop_line(number)
            dropped += 1
    return dropped


def _link(web: Web, number: int) -> bool:
    """Tell whether a line holds others together, too short for a pass over it to be counted."""
    line = web.lines[number]
    return line.a != line.b and line.length_m < FLICKER * STEP_M and not web.loose(number)


class Boxes:
    """The extent of every line, to find those near one."""

    def __init__(self, web: Web) -> None:
        """Measure all lines."""
        self.numbers = sorted(web.lines)
        ground = [web.lines[k].xyz[:, :2] for k in self.numbers]
        self.low = np.array([xy.min(axis=0) for xy in ground]).reshape(-1, 2)
        self.high = np.array([xy.max(axis=0) for xy in ground]).reshape(-1, 2)
        self.row = {number: row for row, number in enumerate(self.numbers)}

    def near(self, number: int, reach_m: float | Floats) -> list[int]:
        """Give other lines whose extents come within reach of a line's, each its own ``(l, 1)``."""
        row = self.row[number]
        low, high = self.low - reach_m, self.high + reach_m
        meet = ((low <= self.high[row]) & (high >= self.low[row])).all(axis=1)
        return [self.numbers[k] for k in np.flatnonzero(meet) if self.numbers[k] != number]


def beside(xyz: Floats, others: list[Floats], beside_m: float) -> bool:
    """Tell whether most of a line runs along others, no further off."""
    mine, table = stations_of([xyz]), stations_of(others)
    near = abreast_of(table, mine.xyz[:, :2], mine.tangent, mine.xyz[:, 2], reach_m=beside_m)
    return bool((near.station >= 0).mean() >= BESIDE_SHARE)
