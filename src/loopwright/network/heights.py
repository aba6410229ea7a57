"""Bring the heights of all rides to one level.

Gets samples lying abreast; gives one height correction per ride and a slow drift along it, so
that devices 50 m apart agree. The sum of the corrections is zero over the rides that know
heights: no ride is taken for the truth.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.linalg import lsqr

from loopwright.model.arrays import Floats
from loopwright.network.attract import Aligned
from loopwright.network.pairs import across_m
from loopwright.network.plots import Pairs
from loopwright.network.rows import Rows
from loopwright.network.samples import Samples

BESIDE_M = 6.0
"""Only samples this close across count as the same ground."""
LEVEL_M = 8.0
"""Two heights of one place differ by less once levelled: what is left drifts by 2 m and more."""
ROUNDS = 3
CHUNK_M = 2000.0
"""Drift is held piecewise over this much riding (about ten minutes)."""
LEAST_SCALE_M = 0.5


def levelled(samples: Samples, xy: Floats, head: Floats, pairs: Pairs, *, rides: int) -> Floats:
    """Give heights ``(n,)`` with each ride's offset and drift taken out; NaN stays NaN."""
    if not np.isfinite(samples.ele).any():
        return samples.ele.copy()
    place = Aligned(xy=xy, head=head)
    offset = _solve(_rises(samples.ele, place, pairs, samples.ride), rides)
    ele = samples.ele + offset[samples.ride]
    chunk, chunks = _chunks(samples)
    return np.asarray(ele + _solve(_rises(ele, place, pairs, chunk), chunks)[chunk])


def shared(ele: Floats, place: Aligned, pairs: Pairs) -> Floats:
    """Give each sample ``(n,)`` the mean height of all passes there, metres.

    Where a ride tells no height, those beside it do; NaN where none does. A trail above or below
    is another place.
    """
    out = ele.copy()
    for block in pairs.blocks():
        mine, other = ele[block.i], ele[block.j]
        use = np.isfinite(other) & ~(np.abs(other - mine) > LEVEL_M)
        use &= np.abs(across_m(place.xy, place.head, block)) < BESIDE_M
        own = ele[block.low : block.high]
        known = np.isfinite(own)
        count = block.sums(use.astype(np.float64)) + known
        total = block.sums(np.where(use, other, 0.0)) + np.where(known, own, 0.0)
        mean = total / np.maximum(count, 1.0)
        out[block.low : block.high] = np.where(count > 0, mean, np.nan)
    return out


def _chunks(samples: Samples) -> tuple[Rows, int]:
    key = samples.piece.astype(np.int64) * 10_000 + (samples.dist // CHUNK_M).astype(np.int64)
    names, chunk = np.unique(key, return_inverse=True)
    return chunk, len(names)


@dataclass(frozen=True, slots=True)
class _Rises:
    """Of each two groups that met: who, the middle ``rise`` from one to the other, how often."""

    one: Rows
    two: Rows
    rise: Floats
    count: Rows


def _rises(ele: Floats, place: Aligned, pairs: Pairs, group: Rows) -> _Rises:
    """Compare groups of samples that follow each other in the table (rides, parts of rides)."""
    size = int(group[-1]) + 1
    edges = np.concatenate(([0], np.flatnonzero(np.diff(group)) + 1, [len(group)]))
    names, rises, counts = [np.zeros(0, np.int64)], [np.zeros(0)], [np.zeros(0, np.int64)]
    for block in pairs.blocks(edges):
        i, j = block.i, block.j
        rise = ele[j] - ele[i]
        use = (i < j) & (group[i] != group[j]) & np.isfinite(rise)
        use &= np.abs(across_m(place.xy, place.head, block)) < BESIDE_M
        key = group[i[use]].astype(np.int64) * size + group[j[use]]
        name, both = np.unique(key, return_inverse=True)
        middle, count = _medians(rise[use], both, len(name))
        names.append(name)
        rises.append(middle)
        counts.append(count)
    name = np.concatenate(names)
    return _Rises(name // size, name % size, np.concatenate(rises), np.concatenate(counts))


def _solve(met: _Rises, size: int) -> Floats:
    """Find ``o`` with ``o[one] - o[two] = rise``, robustly: far-off pairs count less each round."""
    found = np.zeros(size)
    if len(met.rise) == 0:
        return found
    for _ in range(ROUNDS):
        off = met.rise - (found[met.one] - found[met.two])
        scale = max(float(np.median(np.abs(off))) * 1.5, LEAST_SCALE_M)
        weight = np.sqrt(np.minimum(met.count, 50) / (1 + (off / scale) ** 2))
        found = _least(met.one, met.two, met.rise, weight, size)
    return found


def _least(first: Rows, second: Rows, middle: Floats, weight: Floats, size: int) -> Floats:
    rows = np.arange(len(middle))
    matrix = coo_matrix(
        (np.concatenate((weight, -weight)), (np.tile(rows, 2), np.concatenate((first, second)))),
        shape=(len(middle), size),
    ).tocsr()
    return np.asarray(lsqr(matrix, middle * weight, damp=0.05, atol=1e-9, btol=1e-9)[0])


def _medians(values: Floats, group: Rows, size: int) -> tuple[Floats, Rows]:
    order = np.lexsort((values, group))
    sorted_values = values[order]
    count = np.bincount(group, minlength=size)
    start = np.concatenate(([0], np.cumsum(count)[:-1]))
    low, high = start + (count - 1) // 2, start + count // 2
    return (sorted_values[low] + sorted_values[high]) / 2, count
