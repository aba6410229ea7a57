"""Drop lines that only show where receivers strayed from the line beside them.

Gets a web with its passes counted; takes away what the crowd nearby explains. Under cliffs and tall
buildings rides of one trail scatter over many metres, so that one line is seen as several strands;
anywhere a single recording may swing out and come back. Promises: what a strand joins stays joined
by another way.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.spatial import cKDTree

from loopwright.model.arrays import Floats
from loopwright.network.detours import way_round
from loopwright.network.passes import LAP_SHARE
from loopwright.network.shadows import BESIDE_SHARE, LONE, STRONG, Boxes, beside
from loopwright.network.stations import stations_of
from loopwright.network.wander import WANDERS_M
from loopwright.network.web import Web

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
STRAY_MOST_M, FURTHEST_M = 60.0, 150.0
"""No stray is looked for further off: beside lines that few rode, and beside any at all."""
SHAPING = 13.0
"""So many passes shape a line (`core.py`), and strays are always among them, since they show ground
not seen before. The more rides went by, the rarer is each of those few passes."""
TAIL = 3.0
"""Of so many times more rides the furthest strays further by this root of it. The errors above, for
one, two and three of thirteen passes, fall off the same way: 5, 4.0 and 3.5."""
FEWEST = 1e-3
"""Passes that count as none."""
SWINGS_M = (25.0, 45.0)
"""A single pass that leaves a well-ridden line and comes back swings out no further by error: usual
receivers, and those that wander. Reflections off rock and walls reach 40 m."""
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
    sight, dropped = _Sight(web, sigma), 0
    swing_m = float(np.interp(wander_m, WANDERS_M, SWINGS_M))
    far = swing_m > SWINGS_M[0]
    for number in sight.rank:
        if web.lines[number].parted:
            continue
        strand_m = sight.strand_m(number)
        reach_m = strand_m or sight.swing_m(number, swing_m)
        loose = strand_m > 0 or sight.errs(number) or far
        if reach_m and _spare(web, number, reach_m, loose=loose):
            web.drop_line(number)
            dropped += 1
    return dropped


class _Sight:
    """What lies beside each line of a web, and how far errors reach there."""

    def __init__(self, web: Web, sigma: float) -> None:
        """Look at all lines; ``sigma`` is a ride's usual error in metres."""
        self.web, self.sigma, self.boxes = web, sigma, Boxes(web)
        order = web.weakest_first()
        self.rank = {number: place for place, number in enumerate(order)}
        lines = [web.lines[k] for k in self.boxes.numbers]
        self.passes = np.array([line.passes for line in lines])
        self.times = np.array([max(line.rides / SHAPING, 1.0) for line in lines])
        self.trees: dict[int, cKDTree] = {}

    def errs(self, number: int) -> bool:
        """Tell whether receivers do badly along a line, for as few passes as it has."""
        return bool(self._tail_m(number, np.array([self.web.lines[number].passes]))[0] > 0)

    def _stronger(self, number: int, reach_m: float | Floats, passes: float) -> list[int]:
        """Lines within reach of a line that are stronger than it, and have so many passes."""
        return [
            k
            for k in self.boxes.near(number, reach_m)
            if k in self.web.lines
            and self.rank[k] > self.rank[number]
            and self.web.lines[k].passes >= passes
        ]

    def strand_m(self, number: int) -> float:
        """How far errors reach from the stronger lines that explain a line; 0 if none do."""
        reach_m = self._reach_m(number)
        near = self._stronger(number, reach_m[:, None], 0.0) if reach_m.any() else []
        reach_m = reach_m[[self.boxes.row[k] for k in near]]
        return float(reach_m.max()) if near and self._within(number, near, reach_m) else 0.0

    def _reach_m(self, number: int) -> Floats:
        """How far errors reach to a line from each line ``(lines,)``, were it the stronger."""
        line, times = self.web.lines[number], self.times
        passes = np.maximum(np.minimum(line.passes, line.rides / times), 1.0 / times)
        # In shade the same walls shift many rides alike: that they agree tells little.
        agreed = np.maximum(passes if line.worse > ROUGH else line.passes, 1.0)
        share = 1.0 / agreed + 1.0 / np.maximum(self.passes, 1.0)
        most_m = np.minimum(STRAY_MOST_M * times ** (1 / TAIL), FURTHEST_M)
        tail_m = np.where(
            self.passes >= STRONG, self._tail_m(number, passes), self._rough_m(number)
        )
        return np.asarray(np.minimum(tail_m * np.sqrt(share), most_m))

    def _rough_m(self, number: int) -> float:
        """How far errors part two passes of one trail in shade, for one pass; 0 elsewhere."""
        worse = self.web.lines[number].worse
        return STRAY_ERRORS * self.sigma * worse * 2**0.5 if worse > ROUGH else 0.0

    def _tail_m(self, number: int, passes: Floats) -> Floats:
        """How far a line of so many ``passes`` may lie off by error; 0 where receivers do well."""
        line = self.web.lines[number]
        poor = float(np.interp(self.sigma * line.worse, POOR_M, (0.0, 1.0)))
        errors = np.select(
            [passes < most for most, _ in POOR_ERRORS], [errors for _, errors in POOR_ERRORS], 0.0
        )
        furthest = np.maximum(1.0 / np.maximum(passes, FEWEST), 1.0) ** (1 / TAIL)
        stray_m = poor * errors * furthest * line.error_m
        return np.asarray(np.maximum(stray_m, self._rough_m(number)))

    def swing_m(self, number: int, swing_m: float) -> float:
        """Tell the same of one pass beside a crowd, whatever its own error."""
        line, far = self.web.lines[number], swing_m > SWINGS_M[0]
        if line.passes > (LONE + LAP_SHARE if far and self.web.loose(number) else LONE):
            return 0.0
        crowd = self._stronger(number, swing_m, CROWDS[far])
        if not crowd:
            return 0.0
        # A far swing leaves at a steep angle: its sides run beside nothing.
        along = (
            self._within(number, crowd, np.full(len(crowd), swing_m))
            if far
            else beside(line.xyz, [self.web.lines[k].xyz for k in crowd], swing_m)
        )
        return swing_m if along else 0.0

    def _within(self, number: int, others: Sequence[int], reach_m: Floats) -> bool:
        """Tell whether most of a line lies within each other's reach, whichever way it heads."""
        mine = self._tree(number).data
        near = np.zeros(len(mine), dtype=bool)
        for other, reach in zip(others, reach_m.tolist(), strict=True):
            near |= np.isfinite(self._tree(other).query(mine, distance_upper_bound=reach)[0])
        return bool(near.mean() >= BESIDE_SHARE)

    def _tree(self, number: int) -> cKDTree:
        """Places every few metres along a line."""
        if number not in self.trees:
            self.trees[number] = cKDTree(stations_of([self.web.lines[number].xyz]).xyz[:, :2])
        return self.trees[number]


def _spare(web: Web, number: int, reach_m: float, *, loose: bool) -> bool:
    """Tell whether the web hangs together without a line: a way round, or a loose end."""
    line = web.lines[number]
    if line.a == line.b:
        return True
    if loose and web.loose(number):
        return True
    return way_round(web, number, DETOUR * line.length_m + 2 * reach_m) is not None
