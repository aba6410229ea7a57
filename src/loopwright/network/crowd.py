"""How many passes of all rides went by a place.

Gets the samples of all rides in their order, and which of them shape the lines. Few passes shape a
line, and a stray is always among them, since it shows ground not seen before: how rare it is, only
all rides tell. Promises: rides after the last that shapes a line change nothing, so that a ride
that is only matched leaves the lines as they are.
"""

from __future__ import annotations

import numpy as np

from loopwright.model.arrays import Floats
from loopwright.network.core import CELL_M, around, cells
from loopwright.network.rows import Bools, Rows
from loopwright.network.samples import Samples

ACROSS = 3.0
"""A pass shows in three of a cell and its eight neighbours."""


class Crowd:
    """Passes counted by cell."""

    def __init__(self) -> None:
        """Start with none."""
        self._names = np.zeros(0, dtype=np.int64)
        self._counts = np.zeros(0, dtype=np.int64)
        self._waiting = self._names

    def tell(self, samples: Samples, chosen: Bools) -> None:
        """Count the next rides; ``chosen`` ``(n,)`` marks the samples that shape lines."""
        names, cell = np.unique(cells(samples.xy, CELL_M), return_inverse=True)
        passed = np.unique(samples.piece * len(names) + cell.astype(np.int64))
        ride = samples.ride[samples.first[passed // max(len(names), 1)]]
        name = names[passed % max(len(names), 1)]
        known = ride <= samples.ride[chosen].max(initial=-1)
        if known.any():
            self._count(np.concatenate((self._waiting, name[known])))
            self._waiting = self._names[:0]
        self._waiting = np.concatenate((self._waiting, name[~known]))

    def _count(self, more: Rows) -> None:
        ones = np.ones(len(more), dtype=np.int64)
        names, row = np.unique(np.concatenate((self._names, more)), return_inverse=True)
        self._counts = np.bincount(row, np.concatenate((self._counts, ones))).astype(np.int64)
        self._names = names

    def near(self, xy: Floats) -> Floats:
        """Tell for places ``(n, 2)`` how many passes went by."""
        names, row = np.unique(cells(xy, CELL_M), return_inverse=True)
        known = np.union1d(self._names, names)
        counts = np.zeros(len(known) + 1)
        counts[np.searchsorted(known, self._names)] = self._counts
        near = counts[around(known)].sum(axis=1) / ACROSS
        return np.asarray(near[np.searchsorted(known, names)][row])
