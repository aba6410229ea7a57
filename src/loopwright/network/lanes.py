"""Tell two lines side by side that are ridden one way each.

Gets samples as recorded and the company their passes keep; marks where those who come the other way
ride a line of their own: a climb beside its descent, the two carriageways of a street. Errors of
single rides reach further than such lines lie apart, but they do not know the way a ride goes: the
mean place of all who go one way and of all who come the other tells more than any one pass.
"""

from __future__ import annotations

import numpy as np

from loopwright.model.arrays import Floats
from loopwright.network.attract import window_rows, window_sums
from loopwright.network.company import Company
from loopwright.network.pairs import across_m, headed_alike
from loopwright.network.rows import Bools, Rows
from loopwright.network.samples import Samples

HALF = 30
"""Samples either way (150 m) over which the gap is averaged: about as far as an error lasts."""
APART_M = 7.0
"""Lines nearer are taken for one. On open bus trips the two ways lie 2.7 m apart in streets
surveyed as one line (7.0 m in one of twenty), and 12 m in those surveyed as two."""
ERRORS = 3.0
"""The gap must be so many standard errors. There 42 % of the riding on streets of two lines is told
with three, and 3 % on single ones; with two it is 51 % and 4 %."""
EACH = 1.5
"""Passes each way from which the gap is told: one alone may stray."""
GROWN = 20
"""Samples (100 m) before and after: near the forks of two such lines the gap is seen by halves."""
SEEN = 0.6
"""Share of the riding around at which both ways are seen."""


def lanes(samples: Samples, kept: Company, errors: Floats) -> Bools:
    """Mark samples ``(n,)`` beside which the other way has a line of its own.

    ``errors`` ``(rides,)`` in metres.
    """
    gap_m, looks = _gaps(samples, kept)
    low, high = window_rows(samples.first, HALF)
    told = np.column_stack(((looks > 0).astype(np.float64), looks, looks * gap_m))
    seen, weight, moved = window_sums(told, samples.first, HALF).T
    mean_m = np.abs(moved) / np.maximum(weight, 1e-9)
    error_m = errors[samples.ride] / np.sqrt(np.maximum(weight / np.maximum(seen, 1.0), 1e-9))
    far = (mean_m >= APART_M) & (mean_m >= ERRORS * error_m)
    return np.asarray(far & (seen >= SEEN * (high - low)))


def grown(marks: Bools, first: Rows) -> Bools:
    """Mark what lies up to 100 m before and after in the same piece, too."""
    return np.asarray(window_sums(marks.astype(np.float64), first, GROWN) > 0)


def _gaps(samples: Samples, kept: Company) -> tuple[Floats, Floats]:
    """Metres to the left at which the other way lies, against all who go the same way.

    Also gives how many independent looks at it that is, 0 where either way is hardly ridden.
    """
    sums = np.zeros((4, len(samples)))
    for block in kept.pairs.blocks():
        gap = across_m(samples.xy, samples.head, block)
        belief = kept.belief(block)
        along = headed_alike(samples.head, block)
        for row, values in enumerate((belief * along, belief * ~along)):
            sums[row, block.low : block.high] = block.sums(values)
            sums[row + 2, block.low : block.high] = block.sums(values * gap)
    ahead, against = sums[0] + 1.0, sums[1]  # the sample itself goes its own way, at no gap
    told = (ahead >= EACH) & (against >= EACH)
    gap_m = sums[3] / np.maximum(against, 1e-9) - sums[2] / ahead
    return np.where(told, gap_m, 0.0), np.where(told, ahead * against / (ahead + against), 0.0)
