"""Choose the passes that shape the network.

Gets samples of all rides in a fixed order; gives those of the first passes of every place. After
some twenty passes a further one moves a line by centimetres: it is matched, not fitted. This is
what keeps a lifetime of rides linear.
"""

from __future__ import annotations

from collections.abc import Mapping

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
SIDE = 1 << 24
"""Cells along one side of the plane: 134,000 km of them, so that a cell has one number."""


class Census:
    """How many passes each cell has seen, in the order rides are told."""

    def __init__(self, counts: Mapping[int, int] | None = None) -> None:
        """Start with known counts."""
        self.counts = dict(counts or {})

    def choose(self, samples: Samples) -> Bools:
        """Mark the samples ``(n,)`` that shape the network, counting as it goes."""
        names, cell = np.unique(cells(samples.xy, CELL_M), return_inverse=True)
        seen = np.array([self.counts.get(name, 0) for name in names.tolist()] + [0])
        beside = around(names)
        chosen = np.zeros(len(samples), dtype=bool)
        for first, stop in zip(samples.first[:-1], samples.first[1:], strict=True):
            mine = cell[first:stop]
            known = seen[beside[mine]].max(axis=1) >= ENOUGH
            seen[np.unique(mine)] += 1
            chosen[first:stop] = _chunks(~known)
        self.counts.update(zip(names.tolist(), seen[:-1].tolist(), strict=True))
        return chosen


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
        first=np.append(starts, len(rows)).astype(np.int32),
        spacing=samples.spacing[old[starts]] if len(rows) else np.zeros(0),
    )
