"""How far rides stray.

Gets pairs of samples lying abreast; gives the standard error across the trail of each ride in
metres, so that every later threshold can be a multiple of it.
"""

from __future__ import annotations

import numpy as np

from loopwright.model.arrays import Floats
from loopwright.network.pairs import Pairs, across_m
from loopwright.network.rows import Rows
from loopwright.network.samples import STEP_M, Samples

LEAST_M = 1.0
MOST_M = 8.0
"""Bounds of what a satellite receiver shows under an open sky and under wet trees."""
UNKNOWN_M = 3.0
"""Taken when no two rides share ground."""
BIAS = 1.15
"""Taking the nearest of a ride's laps reads low by this (measured on invented rides)."""
FADE_M = 250.0
"""Riding over which a receiver's error fades: so far apart, two samples tell different things."""
DOUBT = 20.0
"""Independent looks after which a ride's own figure counts half against the figure of all."""
FEW = 30
"""Fewer neighbours than this and a ride takes the figure of all."""


def spread_m(samples: Samples, pairs: Pairs, *, rides: int) -> Floats:
    """Estimate the error across the trail ``(rides,)`` in metres.

    For every sample and every other ride only the nearest abreast sample counts: a parallel
    trail then spoils the figure only where the other ride took that trail alone. The difference
    of two rides varies by the sum of both variances; the figures are found by repeated division.
    """
    i, j, gap = _nearest(samples, pairs)
    if len(gap) < FEW:
        return np.full(rides, UNKNOWN_M)
    all_m = float(np.clip(_robust(gap) / np.sqrt(2.0), LEAST_M, MOST_M))
    figure = np.full(rides, all_m)
    mine, other = samples.ride[i], samples.ride[j]
    order = np.argsort(mine, kind="stable")
    bounds = np.searchsorted(mine[order], np.arange(rides + 1))
    for _ in range(8):
        figure = _improved(figure, gap[order], other[order], bounds, all_m)
    looks = np.bincount(samples.ride[np.unique(i)], minlength=rides) * STEP_M / FADE_M
    shrunk = BIAS * all_m * (figure / all_m) ** (looks / (looks + DOUBT))
    return np.clip(shrunk, LEAST_M, MOST_M)


def _improved(figure: Floats, gap: Floats, other: Rows, bounds: Rows, all_m: float) -> Floats:
    new = figure.copy()
    for ride in range(len(figure)):
        part = slice(bounds[ride], bounds[ride + 1])
        if bounds[ride + 1] - bounds[ride] < FEW:
            continue
        scaled = gap[part] ** 2 / (figure[ride] ** 2 + figure[other[part]] ** 2)
        ratio = float(np.median(scaled)) / 0.4549
        new[ride] = np.clip(figure[ride] * ratio**0.5, all_m / 3, all_m * 3)
    return np.sqrt(figure * new)


def _nearest(samples: Samples, pairs: Pairs) -> tuple[Rows, Rows, Floats]:
    gap = np.abs(across_m(samples.xy, samples.head, pairs))
    use = ~pairs.own
    i, j, gap = pairs.i[use], pairs.j[use], gap[use]
    order = np.lexsort((gap, samples.ride[j], i))
    i, j, gap = i[order], j[order], gap[order]
    key = i.astype(np.int64) * (int(samples.ride.max(initial=0)) + 1) + samples.ride[j]
    head = np.concatenate(([True], np.diff(key) != 0)) if len(key) else np.zeros(0, bool)
    return i[head], j[head], gap[head]


def _robust(gap: Floats) -> float:
    return float(np.median(gap) / 0.6745)
