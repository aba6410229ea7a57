"""How long two passes keep company.

Gets pairs of samples lying abreast; gives for each pair how far the two passes run side by side
there. Passes of one trail keep company for as long as both stay on it; the legs of a hairpin only
for the length of a leg. This tells which neighbour to believe before anything is aligned.
"""

from __future__ import annotations

import numpy as np

from loopwright.model.arrays import Floats
from loopwright.network.pairs import Pairs
from loopwright.network.rows import Rows
from loopwright.network.samples import STEP_M, Samples

BAND = 12
"""Samples by which two passes may slip along each other (60 m) and still keep company."""
HOLE = 6
"""Samples abreast of nothing (30 m) after which company ends."""
MOST_M = 300.0
"""Longer company says no more: the longest hairpin legs are far shorter."""


def company_m(samples: Samples, head: Floats, pairs: Pairs) -> Floats:
    """Metres of company for each pair ``(k,)``, at most ``MOST_M``.

    ``pairs`` must hold every pair both ways, the second half mirroring the first.
    """
    if len(pairs) == 0:
        return np.zeros(0)
    half = len(pairs) // 2
    i, j = pairs.i[:half].astype(np.int64), pairs.j[:half].astype(np.int64)
    same = (head[i] * head[j]).sum(axis=1) > 0
    slip = np.where(same, i - j + len(samples), i + j)
    best = np.zeros(half)
    for shift in (0, BAND // 2):
        band = ((slip + shift) // BAND) * 2 + same
        best = np.maximum(best, _lengths(samples, i, band))
    return np.tile(np.minimum(best * STEP_M, MOST_M), 2)


def _lengths(samples: Samples, i: Rows, band: Rows) -> Floats:
    """Length in samples of the unbroken run of ``i`` within its band."""
    order = np.argsort(band * (len(samples) + 1) + i, kind="stable")
    row, lane = i[order], band[order]
    new = (np.diff(lane) != 0) | (np.diff(row) > HOLE) | (np.diff(samples.piece[row]) != 0)
    starts = np.concatenate(([0], np.flatnonzero(new) + 1))
    sizes = np.diff(np.append(starts, len(row)))
    run = row[starts + sizes - 1] - row[starts] + 1
    out = np.zeros(len(i))
    out[order] = np.repeat(run, sizes)
    return out


def belief(samples: Samples, pairs: Pairs, company: Floats) -> Floats:
    """Weight of each pair: its company against the longest its sample has, squared."""
    longest = np.zeros(len(samples))
    np.maximum.at(longest, pairs.i, company)
    return np.asarray((company / np.maximum(longest[pairs.i], STEP_M)) ** 2)
