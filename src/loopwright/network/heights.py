"""Bring the heights of all rides to one level.

Gets samples lying abreast; gives one height correction per ride and a slow drift along it, so
that devices 50 m apart agree. The sum of the corrections is zero over the rides that know
heights: no ride is taken for the truth.
"""

from __future__ import annotations

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.linalg import lsqr

from loopwright.model.arrays import Floats
from loopwright.network.pairs import Pairs, across_m
from loopwright.network.rows import Rows
from loopwright.network.samples import Samples

BESIDE_M = 6.0
"""Only samples this close across count as the same ground."""
ROUNDS = 3
CHUNK_M = 2000.0
"""Drift is held piecewise over this much riding (about ten minutes)."""
LEAST_SCALE_M = 0.5


def levelled(samples: Samples, xy: Floats, head: Floats, pairs: Pairs, *, rides: int) -> Floats:
    """Give heights ``(n,)`` with each ride's offset and drift taken out; NaN stays NaN."""
    gap = np.abs(across_m(xy, head, pairs))
    use = (pairs.i < pairs.j) & (gap < BESIDE_M)
    i, j = pairs.i[use], pairs.j[use]
    rise = samples.ele[j] - samples.ele[i]
    known = np.isfinite(rise)
    i, j, rise = i[known], j[known], rise[known]
    if len(rise) == 0:
        return samples.ele.copy()
    offset = _solve(samples.ride[i], samples.ride[j], rise, rides)
    chunk, chunks = _chunks(samples)
    left = rise - (offset[samples.ride[i]] - offset[samples.ride[j]])
    drift = _solve(chunk[i], chunk[j], left, chunks)
    return np.asarray(samples.ele + offset[samples.ride] + drift[chunk])


def _chunks(samples: Samples) -> tuple[Rows, int]:
    key = samples.piece.astype(np.int64) * 10_000 + (samples.dist // CHUNK_M).astype(np.int64)
    names, chunk = np.unique(key, return_inverse=True)
    return chunk, len(names)


def _solve(a: Rows, b: Rows, rise: Floats, size: int) -> Floats:
    """Find ``o`` with ``o[a] - o[b] = rise``, robustly: far-off pairs count less each round."""
    low, high = np.minimum(a, b).astype(np.int64), np.maximum(a, b).astype(np.int64)
    signed = np.where(a <= b, rise, -rise)
    use = low != high
    key = (low * size + high)[use]
    names, group = np.unique(key, return_inverse=True)
    if len(names) == 0:
        return np.zeros(size)
    middle, count = _medians(signed[use], group, len(names))
    found = np.zeros(size)
    first, second = names // size, names % size
    for _ in range(ROUNDS):
        off = middle - (found[first] - found[second])
        scale = max(float(np.median(np.abs(off))) * 1.5, LEAST_SCALE_M)
        weight = np.sqrt(np.minimum(count, 50) / (1 + (off / scale) ** 2))
        found = _least(first, second, middle, weight, size)
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
