"""Who rode which line when, and which way.

Gets samples matched to stations; gives for each line the passes over it. A pass covers at least
half the line; turning round on a line makes two.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from loopwright.geo.planar import dots
from loopwright.model.arrays import Floats
from loopwright.model.ids import RideId, Way, Ways
from loopwright.model.network import Pass
from loopwright.network.rows import Bools, Rows
from loopwright.network.samples import STEP_M, Samples
from loopwright.network.stations import Abreast, Stations

JUMP_M = 25.0
"""Along a line, a sample this far from the one before belongs to another pass."""
FLICKER = 3
"""So few samples on a line are a slip of the matching."""
COVERS = 0.5
"""Share of a line that makes a pass of it."""
RUN_ON = 12
"""So few recorded points apart, one pass runs on into the next over a junction."""
LAP_SHARE = 0.35
"""A further lap of the same ride counts as this much of an independent pass."""
SUGGEST_PASSES = 5
"""So many passes, all one way, happen by chance once in sixteen (2 x 0.5^5)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Over:
    """One pass over line ``line`` (its place in the table), with the moment it ended too."""

    line: int
    ride: RideId
    way: Way
    time_s: float
    end_s: float
    first: int
    last: int

    def clipped(self, low: float, high: float) -> Over:
        """Give the part of the pass between two shares of the line, at an even pace."""
        if self.way is Way.BACKWARD:
            low, high = 1.0 - high, 1.0 - low
        points, seconds = self.last - self.first, self.end_s - self.time_s
        return replace(
            self,
            time_s=self.time_s + low * seconds,
            end_s=self.time_s + high * seconds,
            first=self.first + round(low * points),
            last=self.first + round(high * points),
        )

    def turned(self) -> Over:
        """Give the same pass over the line stored the other way round."""
        return replace(self, way=self.way.other)

    def runs_into(self, other: Over) -> bool:
        """Tell whether ``other`` goes on where this pass ends, the same way."""
        gap = other.first - self.last
        return self.ride == other.ride and self.way is other.way and -4 <= gap <= RUN_ON

    def with_end(self, other: Over) -> Over:
        """Give this pass prolonged to the end of ``other``."""
        return replace(self, end_s=other.end_s, last=other.last)

    def public(self) -> Pass:
        """Give the pass as the network shows it."""
        return Pass(
            ride=self.ride, way=self.way, time_s=self.time_s, first=self.first, last=self.last
        )


def passes_of(
    table: Stations, near: Abreast, samples: Samples, head: Floats, *, rides: Sequence[RideId]
) -> list[Over]:
    """Find the passes over each line of ``table``; ``rides`` names the numbers in ``samples``."""
    if len(table) == 0 or len(samples) == 0:
        return []
    place = table.dist[near.station] + near.forth
    line = table.line[near.station]
    onward = _onward(table, near, head)
    length = table.dist[table.first[1:] - 1]
    first, last = runs_on(table, near, samples, head)
    span = np.abs(place[last] - place[first]) + STEP_M
    full = span >= COVERS * length[line[first]]
    return [
        _over(samples, rides, a, b, number=int(line[a]), onward=bool(onward[a]))
        for a, b in zip(first[full].tolist(), last[full].tolist(), strict=True)
    ]


def _over(
    samples: Samples, rides: Sequence[RideId], a: int, b: int, *, number: int, onward: bool
) -> Over:
    return Over(
        line=number,
        ride=rides[samples.ride[a]],
        way=Way.FORWARD if onward else Way.BACKWARD,
        time_s=float(samples.time[a]),
        end_s=float(samples.time[b]),
        first=int(np.floor(samples.point[a])),
        last=int(np.ceil(samples.point[b])),
    )


def _onward(table: Stations, near: Abreast, head: Floats) -> Bools:
    return np.asarray(dots(table.tangent[near.station], head) >= 0)


def runs_on(table: Stations, near: Abreast, samples: Samples, head: Floats) -> tuple[Rows, Rows]:
    """First and last rows of unbroken riding on one line of ``table`` one way."""
    place = table.dist[near.station] + near.forth
    line = np.where(near.station >= 0, table.line[near.station], -1)
    onward = _onward(table, near, head)
    rows = np.flatnonzero(line >= 0)
    for least in (FLICKER, 1):
        starts, stops = _groups(samples, line, onward, place, rows)
        good = stops - starts >= least
        rows = rows[np.repeat(good, stops - starts)]
    starts, stops = _groups(samples, line, onward, place, rows)
    return rows[starts], rows[stops - 1]


def _groups(
    samples: Samples, line: Rows, onward: Bools, place: Floats, rows: Rows
) -> tuple[Rows, Rows]:
    if len(rows) == 0:
        return rows, rows
    a, b = rows[:-1], rows[1:]
    new = (line[a] != line[b]) | (samples.piece[a] != samples.piece[b]) | (onward[a] != onward[b])
    new |= np.abs(place[b] - place[a]) > JUMP_M + STEP_M * (b - a)
    new |= b - a > 8
    starts = np.concatenate(([0], np.flatnonzero(new) + 1))
    return starts, np.append(starts[1:], len(rows))


def suggested(passes: Sequence[Over]) -> Ways:
    """Tell what the passes hint at: one way when many rides all went that way, else both."""
    ways = {one.way for one in passes}
    if len(passes) < SUGGEST_PASSES or len(ways) != 1 or len({p.ride for p in passes}) < 2:
        return Ways.BOTH
    return Ways.FORWARD if ways == {Way.FORWARD} else Ways.BACKWARD


def independent(passes: Sequence[Over]) -> float:
    """Count passes as far as they tell different things: laps of one ride share its error."""
    rides = len({one.ride for one in passes})
    return rides + LAP_SHARE * (len(passes) - rides)
