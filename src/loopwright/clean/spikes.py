"""Drop points that jump aside.

Gets a strand; gives it without single jumps and short excursions.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from scipy.ndimage import median_filter

from loopwright.clean.strand import Bools, Strand, points, steps_m
from loopwright.model.arrays import Floats
from loopwright.model.track import FaultKind

ASIDE_M = 12.0
"""Four times the error under trees: further from the median of five, a point is not the trail."""
ASIDE_STEPS = 2.5
"""The same in median steps, for sparse recordings, whose corners stand off the median."""
JUMP_M = 15.0
JUMP_STEPS = 5.0
EXCURSION_ROWS = 12
"""An excursion is a jump out and a jump back within so many rows."""
FASTEST_M_S = 30.0
"""Nobody rides a trail faster than 108 km/h."""


def without_spikes(strand: Strand) -> Strand:
    """Drop rows that stand off their neighbours."""
    if len(strand) < 5:
        return strand
    good = ~_aside(strand.xy)
    good &= ~_excursion(strand)
    lost = int((~good).sum())
    if lost == 0:
        return strand
    words = f"{points(lost)} far off the line dropped"
    return strand.keep(good).note(FaultKind.SPIKE, words, lost)


def _limit(xy: Floats) -> float:
    step = steps_m(xy)
    moving = step[step > 0.05]
    middle = float(np.median(moving)) if len(moving) else 0.0
    return max(ASIDE_M, ASIDE_STEPS * middle)


def _aside(xy: Floats) -> Bools:
    middle = np.column_stack([median_filter(xy[:, k], size=5, mode="nearest") for k in (0, 1)])
    off = np.hypot(*(xy - middle).T)
    # The median lags beside a jump too: a point counts only if it also jumps from a neighbour.
    limit = _limit(xy)
    step = steps_m(xy)
    jump = np.minimum(np.append(step, np.inf), np.insert(step, 0, np.inf))
    return np.asarray((off > limit) & (jump > limit * 0.6))


def _excursion(strand: Strand) -> Bools:
    """Mark short runs of rows between a jump out and a jump back."""
    xy = strand.xy
    step = steps_m(xy)
    moving = step[step > 0.05]
    typical = float(np.median(moving)) if len(moving) else 0.0
    jump = step > max(JUMP_M, JUMP_STEPS * typical)
    if strand.timed:
        pace = step / np.maximum(np.diff(strand.time), 1e-3)
        usual = float(np.median(pace[step > 0.05])) if len(moving) else 0.0
        jump &= pace > max(3.0 * usual, 6.0)
    bad = np.zeros(len(xy), dtype=bool)
    places = np.flatnonzero(jump)
    for out, back in pairwise(places):
        close = np.hypot(*(xy[back + 1] - xy[out])) < 0.6 * min(step[out], step[back]) + typical
        if back - out <= EXCURSION_ROWS and close and not bad[out]:
            bad[out + 1 : back + 1] = True
    return bad
