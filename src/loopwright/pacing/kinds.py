"""Bends, ways up and down, and turns into other trails: what each takes beyond the model.

Gets sections of rides with the miss of the model's time. Gives a ratio of time for each kind of
ground, good for trails never ridden too. A recorded line is blunter than the trail, so that sharp
bends take longer than its curvature says; the rides show by how much. Promises: little riding of a
kind leaves its ratio near 1 (ridge regression towards the prior).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loopwright.model.arrays import Floats, Ints
from loopwright.pacing.belief import Setting
from loopwright.pacing.constants import SINGLE
from loopwright.pacing.lane import Lane

KINDS = ("bends", "uphill", "downhill", "meetings")
WIDEST_M, SHARP_M = 25.0, 6.25
"""Bends begin to count at the radius from which on a turn is a corner, and count fully at a quarter
of it (P)."""
STEEP = 0.10
"""Slopes count in proportion up to this grade (P)."""
Z90 = 1.6448536


def kinds_at(lane: Lane) -> Floats:
    """How much of each kind every place is, ``(n, 4)`` from 0 to 1."""
    bend = (np.abs(lane.curvature_per_m) - 1 / WIDEST_M) / (1 / SHARP_M - 1 / WIDEST_M)
    slope = lane.grade / STEEP
    return np.clip(np.column_stack((bend, slope, -slope, lane.meets)), 0.0, 1.0)


def ground_pace(lane: Lane, setting: Setting) -> Floats:
    """Ratio of time ``(n,)`` at every place: the usual pace times what its ground takes."""
    rates = np.log([setting.bends, setting.uphill, setting.downhill, setting.meetings])
    return np.asarray(setting.pace * np.exp(kinds_at(lane) @ rates))


def shares_of_time(lane: Lane, clock: Floats, begin: Ints, end: Ints) -> Floats:
    """Share ``(k, 4)`` of each section's seconds spent on each kind.

    ``clock`` ``(n,)`` are seconds at every place; it starts again with every piece.
    """
    step = np.maximum(np.diff(clock, append=clock[-1]), 0.0)
    spent = kinds_at(lane) * step[:, None]
    total = np.vstack((np.zeros(len(KINDS)), np.cumsum(spent, axis=0)))
    return (total[end] - total[begin]) / np.maximum(clock[end] - clock[begin], 1e-3)[:, None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Rates:
    """Logarithms of the ratios of all kinds and their standard deviations, both ``(4,)``."""

    value: Floats
    sd: Floats


def rates_of(shares: Floats, miss: Floats, trust: Floats) -> Rates:
    """Regress ``miss``, the log of time ridden over time foretold ``(k,)``, on the shares."""
    prior = np.array([np.log(SINGLE[k].high / SINGLE[k].low) / (2 * Z90) for k in KINDS])
    scaled = (shares - shares.mean(axis=0)) / trust[:, None]
    inverse = np.linalg.inv(scaled.T @ scaled + np.diag(prior**-2))
    value = inverse @ (scaled.T @ ((miss - miss.mean()) / trust))
    return Rates(value=value, sd=np.sqrt(np.diag(inverse)))
