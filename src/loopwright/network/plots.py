"""Find what lies near what, one plot of ground after another.

Gets places; gives pairs of rows. All pairs of a region at once would not fit the memory: most of
those that lie near each other are not abreast, and are let go plot by plot.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from scipy.spatial import cKDTree

from loopwright.model.arrays import Floats
from loopwright.network.rows import Bools, Rows, parts

SIDE_M = 400.0
"""Side of a plot: some thousand samples, and little of it near an edge."""
NAMES = 1 << 24
"""Plots along one side of the plane: more than any ground has."""
CHUNK = 100_000
"""Pairs looked at together: few enough to stay in the processor's cache."""
Fits: TypeAlias = Callable[[Rows, Rows], tuple[Bools, Bools]]
"""Tells of rows ``i`` and ``j`` ``(k,)`` which ``j`` suit ``i``, and which ``i`` suit ``j``."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pairs:
    """Partners of every row, sorted: those of row ``i`` are ``other[first[i]:first[i + 1]]``."""

    first: Rows
    other: Rows

    def __len__(self) -> int:
        """Count the pairs, each way round by itself."""
        return len(self.other)

    def blocks(self, edges: Rows | None = None, *, most: int = CHUNK) -> Iterator[Block]:
        """Give the pairs in blocks of whole rows; with ``edges`` parted only at those rows.

        ``edges`` begins with 0 and ends with the number of rows.
        """
        edges = np.arange(len(self.first)) if edges is None else edges
        for a, b in parts(self.first[edges], most):
            yield self.block(int(edges[a]), int(edges[b]))

    def span(self, low: int, high: int) -> slice:
        """Tell where the pairs of rows ``low`` to ``high`` (exclusive) are among all."""
        return slice(int(self.first[low]), int(self.first[high]))

    def block(self, low: int, high: int) -> Block:
        """Give the pairs of rows ``low`` to ``high`` (exclusive)."""
        span = self.span(low, high)
        i = np.repeat(np.arange(low, high), np.diff(self.first[low : high + 1]))
        return Block(low=low, high=high, span=span, i=i, j=self.other[span])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Block:
    """Pairs ``i``, ``j`` of the rows ``low`` to ``high``; ``span`` is their place among all."""

    low: int
    high: int
    span: slice
    i: Rows
    j: Rows

    def sums(self, values: Floats) -> Floats:
        """Add ``values`` ``(k,)`` up for each row ``(high - low,)``."""
        return np.asarray(np.bincount(self.i - self.low, values, self.high - self.low), np.float64)


def near(xy: Floats, reach_m: float, fits: Fits) -> Pairs:
    """Find all pairs of ``xy`` ``(n, 2)`` within ``reach_m`` that suit, each way by itself."""
    count = np.zeros(len(xy), dtype=np.int64)
    found = []
    for rows, home in _plots(xy, reach_m):
        i, j = _within(xy, rows, home, reach_m, fits)
        here, size = np.unique(i, return_counts=True)
        count[here] = size
        found.append((here, size, j))
    first = np.concatenate(([0], np.cumsum(count)))
    other = np.empty(first[-1], dtype=np.int32)
    while found:
        here, size, j = found.pop()
        start = np.repeat(first[here] - (np.cumsum(size) - size), size)
        other[start + np.arange(len(j))] = j
    return Pairs(first=first, other=other)


def _within(xy: Floats, rows: Rows, home: Bools, reach_m: float, fits: Fits) -> tuple[Rows, Rows]:
    """Pairs of ``rows`` with ``i`` at home in the plot, sorted."""
    pair = cKDTree(xy[rows]).query_pairs(reach_m, output_type="ndarray")
    kept = []
    for part in np.array_split(pair, len(pair) // CHUNK + 1):
        a, b = part[:, 0], part[:, 1]
        there, back = fits(rows[a], rows[b])
        there, back = there & home[a], back & home[b]
        kept += [(rows[a[there]], rows[b[there]]), (rows[b[back]], rows[a[back]])]
    i, j = (np.concatenate(column) for column in zip(*kept, strict=True))
    order = np.argsort(i.astype(np.int64) * len(xy) + j)
    return i[order], j[order]


def _plots(xy: Floats, reach_m: float) -> Iterator[tuple[Rows, Bools]]:
    """Rows in and within reach of each plot, ascending, and which are at home in it."""
    home = _names(xy)
    names, rows = [home], [np.arange(len(xy), dtype=np.int32)]
    for east in (-reach_m, 0.0, reach_m):
        for north in (-reach_m, 0.0, reach_m):
            name = _names(xy + np.array((east, north)))
            over = np.flatnonzero(name != home)
            names.append(name[over])
            rows.append(over.astype(np.int32))
    name, row = np.concatenate(names), np.concatenate(rows)
    order = np.argsort(name, kind="stable")
    cuts = np.flatnonzero(np.diff(name[order])) + 1
    for part in np.split(order, cuts) if len(order) else []:
        mine = np.unique(row[part])
        yield mine, home[mine] == name[part[0]]


def _names(xy: Floats) -> Rows:
    place = np.floor(xy / SIDE_M).astype(np.int64)
    return np.asarray(place[:, 0] * NAMES + place[:, 1])
