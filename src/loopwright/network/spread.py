"""How far rides stray.

Gets pairs of samples lying abreast; gives the standard error across the trail of each ride in
metres, so that every later threshold can be a multiple of it.
"""

from __future__ import annotations

import numpy as np

from loopwright.model.arrays import Floats
from loopwright.network.company import Company
from loopwright.network.middle import Small, middle
from loopwright.network.pairs import across_m
from loopwright.network.rows import Rows
from loopwright.network.samples import STEP_M, Samples

LEAST_M = 1.0
MOST_M = 8.0
"""Bounds of what a satellite receiver shows under an open sky and under wet trees."""
UNKNOWN_M = 3.0
"""Taken when no two rides share ground."""
TRUSTED = 0.6
"""Weight from which a neighbour surely rides the same trail: four fifths of the longest company."""
FADE_M = 250.0
"""Riding over which a receiver's error fades: so far apart, two samples tell different things."""
DOUBT = 20.0
"""Independent looks after which a ride's own figure counts half against the figure of all."""
FEW = 30
"""Fewer neighbours than this and a ride takes the figure of all."""


def spread_m(samples: Samples, kept: Company, *, rides: int) -> Floats:
    """Estimate the error across the trail ``(rides,)`` in metres.

    Only neighbours that keep company as long as any count: a parallel trail then hardly spoils the
    figure. The difference of two rides varies by the sum of both variances; the figures are found
    by repeated division.
    """
    mine, other, gap, looks = _trusted(samples, kept, rides)
    if len(gap) < FEW:
        return np.full(rides, UNKNOWN_M)
    all_m = float(np.clip(_robust(gap) / np.sqrt(2.0), LEAST_M, MOST_M))
    figure = np.full(rides, all_m)
    bounds = np.concatenate(([0], np.cumsum(mine)))
    for _ in range(8):
        figure = _improved(figure, gap, other, bounds, all_m)
    looks = looks * STEP_M / FADE_M
    shrunk = all_m * (figure / all_m) ** (looks / (looks + DOUBT))
    return np.clip(shrunk, LEAST_M, MOST_M)


def _improved(figure: Floats, gap: Small, other: Rows, bounds: Rows, all_m: float) -> Floats:
    new = figure.copy()
    for ride in range(len(figure)):
        part = slice(bounds[ride], bounds[ride + 1])
        if bounds[ride + 1] - bounds[ride] < FEW:
            continue
        scaled = gap[part] ** 2 / (figure[ride] ** 2 + figure[other[part]] ** 2)
        ratio = float(np.median(scaled)) / 0.4549
        new[ride] = np.clip(figure[ride] * ratio**0.5, all_m / 3, all_m * 3)
    return np.sqrt(figure * new)


def _trusted(samples: Samples, kept: Company, rides: int) -> tuple[Rows, Rows, Small, Floats]:
    """Trusted pairs by ride of ``i``: how many a ride, ride of ``j``, gap; samples that have any.

    Promises pairs in the order of rides, since rides follow each other in the samples.
    """
    mine, looks = np.zeros(rides, dtype=np.int64), np.zeros(rides)
    # Room for all is no cost: what is never written to takes no memory.
    other = np.empty(len(kept.pairs), dtype=np.min_scalar_type(rides))
    gap = np.empty(len(kept.pairs), dtype=np.float32)
    size = 0
    for block in kept.pairs.blocks():
        use = (samples.ride[block.i] != samples.ride[block.j]) & (kept.belief(block) >= TRUSTED)
        rows = slice(size, size + int(use.sum()))
        other[rows] = samples.ride[block.j[use]]
        gap[rows] = np.abs(across_m(samples.xy, samples.head, block))[use]
        mine += np.bincount(samples.ride[block.i[use]], minlength=rides)
        looks += np.bincount(samples.ride[np.unique(block.i[use])], minlength=rides)
        size = rows.stop
    return mine, other[:size], gap[:size], looks


def _robust(gap: Small) -> float:
    return float(middle(gap) / 0.6745)
