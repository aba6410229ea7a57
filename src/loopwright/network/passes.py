"""Who rode which line when, and which way.

Gets samples matched to stations; gives for each line the passes over it. A pass covers at least
half the line; turning round on a line makes two.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from loopwright.model.arrays import Floats, Ints
from loopwright.model.ids import RideId, Way, Ways
from loopwright.model.network import Pass
from loopwright.network.samples import STEP_M, Samples
from loopwright.network.stations import Abreast, Stations

JUMP_M = 25.0
"""Along a line, a sample this far from the one before belongs to another pass."""
FLICKER = 3
"""So few samples on a line are a slip of the matching."""
COVERS = 0.5
"""Share of a line that makes a pass of it."""
LAP_SHARE = 0.35
"""A further lap of the same ride counts as this much of an independent pass."""
SUGGEST_PASSES = 5
"""So many passes, all one way, happen by chance once in sixteen (2 x 0.5^5)."""


def passes_of(
    table: Stations, near: Abreast, samples: Samples, head: Floats, rides: Sequence[RideId]
) -> list[tuple[Pass, ...]]:
    """Passes over each line of ``table``, by ride and time."""
    place = table.dist[near.station] + near.forth
    line = np.where(near.station >= 0, table.line[near.station], -1)
    onward = (table.tangent[near.station] * head).sum(axis=1) >= 0
    runs = _runs(samples, line, onward, place)
    length = table.dist[table.first[1:] - 1]
    found: list[list[Pass]] = [[] for _ in length]
    for first, last in runs:
        number = int(line[first])
        span = abs(place[last] - place[first]) + STEP_M
        if span < COVERS * length[number]:
            continue
        found[number].append(Pass(
            ride=rides[samples.ride[first]],
            way=Way.FORWARD if onward[first] else Way.BACKWARD,
            time_s=float(samples.time[first]),
            first=int(np.floor(samples.point[first])),
            last=int(np.ceil(samples.point[last])),
        ))  # fmt: skip
    return [tuple(sorted(p, key=lambda one: (one.ride, one.first))) for p in found]


def _runs(samples: Samples, line: Ints, onward: Floats, place: Floats) -> list[tuple[int, int]]:
    """Rows (first, last) of unbroken riding on one line one way."""
    rows = np.flatnonzero(line >= 0)
    for least in (FLICKER, 1):
        starts, stops = _groups(samples, line, onward, place, rows)
        good = stops - starts >= least
        rows = np.concatenate(
            [rows[a:b] for a, b in zip(starts[good], stops[good], strict=True)] or [rows[:0]]
        )
    starts, stops = _groups(samples, line, onward, place, rows)
    return [(int(rows[a]), int(rows[b - 1])) for a, b in zip(starts, stops, strict=True)]


def _groups(
    samples: Samples, line: Ints, onward: Floats, place: Floats, rows: Ints
) -> tuple[Ints, Ints]:
    if len(rows) == 0:
        return rows, rows
    a, b = rows[:-1], rows[1:]
    new = (line[a] != line[b]) | (samples.piece[a] != samples.piece[b]) | (onward[a] != onward[b])
    new |= np.abs(place[b] - place[a]) > JUMP_M + STEP_M * (b - a)
    new |= b - a > 8
    starts = np.concatenate(([0], np.flatnonzero(new) + 1))
    return starts, np.append(starts[1:], len(rows))


def suggested(passes: Sequence[Pass]) -> Ways:
    """What the passes hint at: one way when many rides all went that way, else both."""
    ways = {one.way for one in passes}
    if len(passes) < SUGGEST_PASSES or len(ways) != 1 or len({p.ride for p in passes}) < 2:
        return Ways.BOTH
    return Ways.FORWARD if ways == {Way.FORWARD} else Ways.BACKWARD


def independent(passes: Sequence[Pass]) -> float:
    """Count passes as far as they tell different things: laps of one ride share its error."""
    rides = len({one.ride for one in passes})
    return rides + LAP_SHARE * (len(passes) - rides)
