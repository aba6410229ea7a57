"""Choose the passes that shape the network.

Gets samples of all rides in a fixed order; gives those of the first passes of every place. After
some twenty passes a further one moves a line by centimetres: it is matched, not fitted. This is
what keeps a lifetime of rides linear.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TypeAlias

import numpy as np

from loopwright.model.arrays import Floats
from loopwright.network.rows import Bools, Rows
from loopwright.network.samples import Samples

CELL_M = 8.0
"""Cells narrower than the gap between neighbouring lines; the errors reach into the next cell."""
ENOUGH = 7
"""Passes through the busiest of a cell and its neighbours after which the place is known: some
thirteen passes in all, as each strays."""
CHUNK = 50
"""Samples (250 m) decided on together."""
MARGIN = 20
"""Samples kept on both sides of a chosen chunk, so that its shift is well held."""
NEW_SHARE = 0.1
"""A chunk is chosen when this share of it is not known well: 25 m, the least a line is kept for."""
WIDE_M = 18.0
"""Between points further apart than this the way round a bend is guessed (a point every six seconds
or so): such a recording adds a line only where closer ones show none. Rides of one area that fall
on both sides of it lose a little: 13 m, the usual gap at five seconds, was worse."""
LEAD = 2
"""So many close passes show a line better than any number of wide ones."""
SIDE = 1 << 24
"""Cells along one side of the plane: 134,000 km of them, so that a cell has one number."""


Counts: TypeAlias = tuple[Mapping[int, int], Mapping[int, int]]
"""How many passes of close and of wide recordings each cell has seen."""


class Census:
    """How many passes each cell has seen, in the order rides are told.

    Close recordings are to be told first: a wide one shapes the network only where they do not.
    """

    def __init__(self, counts: Counts = ({}, {})) -> None:
        """Start with known counts."""
        self._close, self._wide = dict(counts[0]), dict(counts[1])

    @property
    def counts(self) -> Counts:
        """What was counted so far."""
        return self._close, self._wide

    def choose(self, samples: Samples, *, wide: bool) -> Bools:
        """Mark the samples ``(n,)`` of close or wide pieces that shape the network, counting."""
        names, cell = np.unique(cells(samples.xy, CELL_M), return_inverse=True)
        mine, others = (self._wide, self._close) if wide else (self._close, {})
        seen = _looked_up(mine, names)
        led = _looked_up(others, names) >= LEAD
        beside = around(names)
        chosen = np.zeros(len(samples), dtype=bool)
        for piece in np.flatnonzero((samples.spacing > WIDE_M) == wide):
            rows = slice(samples.first[piece], samples.first[piece + 1])
            near = beside[cell[rows]]
            known = (seen[near].max(axis=1) >= ENOUGH) | led[near].any(axis=1)
            seen[np.unique(cell[rows])] += 1
            chosen[rows] = _chunks(~known)
        some = np.flatnonzero(seen[:-1])
        mine.update(zip(names[some].tolist(), seen[some].tolist(), strict=True))
        return chosen


def _looked_up(counts: Mapping[int, int], names: Rows) -> Rows:
    """Give the count of each cell, and 0 for the last, which stands for all never seen."""
    return np.array([counts.get(name, 0) for name in names.tolist()] + [0])


def cells(xy: Floats, cell_m: float) -> Rows:
    """Give the number of the square cell of each place ``(n, 2)``."""
    place = np.floor(xy / cell_m).astype(np.int64)
    return np.asarray(place[:, 0] * SIDE + place[:, 1])


def around(names: Rows) -> Rows:
    """Rows ``(n, 9)`` of each cell and its eight neighbours; the last row for one never seen."""
    steps = [SIDE * east + north for east in (-1, 0, 1) for north in (-1, 0, 1)]
    want = names[:, None] + np.array(steps)
    at = np.minimum(np.searchsorted(names, want), len(names) - 1)
    return np.where(names[at] == want, at, len(names))


def _chunks(new: Bools) -> Bools:
    """Choose whole chunks with enough that is new, and margins beside them."""
    if new.all():
        return new
    edges = np.arange(0, len(new), CHUNK)
    share = np.add.reduceat(new.astype(np.float64), edges) / np.diff(np.append(edges, len(new)))
    rows = np.repeat(share > NEW_SHARE, np.diff(np.append(edges, len(new))))
    if not rows.any():
        return rows
    total = np.concatenate(([0], np.cumsum(rows)))
    at = np.arange(len(new))
    low, high = np.maximum(at - MARGIN, 0), np.minimum(at + MARGIN + 1, len(new))
    return np.asarray(total[high] > total[low])


def part(samples: Samples, chosen: Bools) -> Samples:
    """Keep the chosen rows; what is left of a piece on both sides of a hole is two pieces."""
    rows = np.flatnonzero(chosen)
    old = samples.piece[rows]
    new = np.concatenate(([True], (np.diff(rows) > 1) | (np.diff(old) != 0))) if len(rows) else rows
    starts = np.flatnonzero(new)
    return Samples(
        xy=samples.xy[rows],
        head=samples.head[rows],
        ele=samples.ele[rows],
        piece=(np.cumsum(new) - 1).astype(np.int32),
        ride=samples.ride[rows],
        dist=samples.dist[rows],
        point=samples.point[rows],
        time=samples.time[rows],
        loose=samples.loose[rows],
        place=samples.place[rows],
        first=np.append(starts, len(rows)).astype(np.int32),
        spacing=samples.spacing[old[starts]] if len(rows) else np.zeros(0),
    )
