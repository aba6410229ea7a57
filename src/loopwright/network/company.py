"""How long two passes keep company.

Gets pairs of samples lying abreast; gives for each pair how far the two passes run side by side
there. Passes of one trail keep company for as long as both stay on it; the legs of a hairpin only
for the length of a leg. This tells which neighbour to believe before anything is aligned.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from loopwright.model.arrays import Floats
from loopwright.network.pairs import headed_alike
from loopwright.network.plots import Block, Pairs
from loopwright.network.rows import Rows
from loopwright.network.samples import STEP_M, Samples

BAND = 12
"""Samples by which two passes may slip along each other (60 m) and still keep company."""
HOLE = 6
"""Samples abreast of nothing (30 m) after which company ends."""
MOST_M = 300.0
"""Longer company says no more: the longest hairpin legs are far shorter."""
Counts: TypeAlias = NDArray[np.unsignedinteger[Any]]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Company:
    """Pairs, the ``steps`` ``(k,)`` of company of each and the ``longest`` of each sample."""

    pairs: Pairs
    steps: Counts
    longest: Floats

    def belief(self, block: Block) -> Floats:
        """Weight of each pair: its company against the longest its sample has, squared."""
        return np.asarray((self.steps[block.span] / self.longest[block.i]) ** 2)


def company(samples: Samples, head: Floats, pairs: Pairs) -> Company:
    """Measure the company each pair keeps, at most ``MOST_M``."""
    steps = np.zeros(len(pairs), dtype=np.uint8)
    for block in pairs.blocks(samples.first):
        steps[block.span] = np.minimum(_steps(samples, head, block), MOST_M / STEP_M)
    longest = np.ones(len(samples))
    some = np.flatnonzero(np.diff(pairs.first))
    if len(some):
        longest[some] = np.maximum.reduceat(steps, pairs.first[some])
    return Company(pairs=pairs, steps=steps, longest=longest)


def _steps(samples: Samples, head: Floats, block: Block) -> Rows:
    """Count the samples of company of each pair of whole pieces."""
    i, j = block.i, block.j.astype(np.int64)
    same = headed_alike(head, block)
    slip = np.where(same, i - j + len(samples), i + j)
    best = np.zeros(len(i), dtype=np.int64)
    for shift in (0, BAND // 2):
        # A pass turned back on itself meets itself twice: once from either leg.
        lane = ((slip + shift) // BAND) * 4 + 2 * same + (i < j)
        best = np.maximum(best, _lengths(samples, i, lane))
    return best


def _lengths(samples: Samples, i: Rows, lane: Rows) -> Rows:
    """Length in samples of the unbroken run of ``i`` within its lane."""
    order = np.argsort(lane * (len(samples) + 1) + i, kind="stable")
    row, side = i[order], lane[order]
    new = (np.diff(side) != 0) | (np.diff(row) > HOLE) | (np.diff(samples.piece[row]) != 0)
    starts = np.concatenate(([0], np.flatnonzero(new) + 1))
    sizes = np.diff(np.append(starts, len(row)))
    run = row[starts + sizes - 1] - row[starts] + 1
    out = np.zeros(len(i), dtype=np.int64)
    out[order] = np.repeat(run, sizes)
    return out
