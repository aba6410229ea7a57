"""Corners along a smoothed line.

Gets a line at stations; gives corners as index runs with turn, radius and tightest place.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loopwright.features.runs import Run, bridged, runs_of
from loopwright.geo.circle import fit_circle
from loopwright.geo.curvature import LEAST_RADIUS_M, curvature, mean_over, turning
from loopwright.geo.whittaker import PINNED, smooth
from loopwright.model.arrays import Floats

CORNER_TURN = np.radians(45.0)
CORNER_RADIUS_M = 25.0
EDGE_WAVE_M = 47.0
"""Length of the wave that a corner near the limits is part of."""
SAME_CORNER_M = 4.0
BLUR_ORDER = 3
TIGHT_RADIUS_M = 6.0
TIGHT_TURN = np.radians(120.0)
MEAN_M = 6.0
"""Curvature is a mean over this length: about a second of riding, more than two stations.
Over 5 m more false corners are told (measured on invented parks)."""
CORE_SHARE = 0.9
"""The radius is that of the middle part of the turn, so that entry and exit do not widen it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bend:
    """A corner from station ``first`` to ``last``, tightest at ``at``; turn in radians, left +."""

    first: int
    last: int
    at: int
    turn: float
    radius_m: float

    @property
    def tight(self) -> bool:
        """Tell whether a rider has to slow down for it whatever the ground."""
        return bool(self.radius_m < TIGHT_RADIUS_M or abs(self.turn) >= TIGHT_TURN)


def bends(
    dist_m: Floats, xy: Floats, *, blur_m: float = 0.0, least_turn: float = CORNER_TURN
) -> list[Bend]:
    """Corners of the line ``xy`` ``(n, 2)`` at even ``dist_m`` ``(n,)``, in order.

    ``blur_m`` is the scale of a further smoothing by which corners are told from wobbles of an
    uncertain line; the radius is always that of the line as given. ``least_turn`` is what a bend
    has to turn, in radians.
    """
    calm = _calmed(dist_m, xy, blur_m)
    curve = mean_over(curvature(calm), dist_m, window_m=MEAN_M)
    turn = turning(calm)
    # Smoothing lowers the curvature of a wave by this factor, so the limit is lowered alike.
    limit = 1 / CORNER_RADIUS_M / (1 + (2 * np.pi * blur_m / EDGE_WAVE_M) ** (2 * BLUR_ORDER))
    found = []
    for sign in (1, -1):
        parts = bridged(runs_of(curve * sign >= limit), dist_m, gap_m=SAME_CORNER_M)
        # All of a part bends tighter than the limit, so its turn lies within 20 m or so.
        parts = [(a, b) for a, b in parts if abs(float(turn[a : b + 1].sum())) >= least_turn]
        found += [_bend(xy, curve, turn, run) for run in parts]
    kept = [bend for bend in found if bend is not None]
    return sorted(kept, key=lambda bend: bend.at)


def _calmed(dist_m: Floats, xy: Floats, blur_m: float) -> Floats:
    if blur_m <= 0 or len(xy) < 3:
        return xy
    weights = np.ones(len(xy))
    weights[[0, -1]] = PINNED
    return smooth(xy, weights, step_m=float(dist_m[1]), scale_m=blur_m, order=BLUR_ORDER)


def _at_edges(turn: Floats, run: Run) -> float:
    """Give what the stations just outside still turn the same way."""
    sign = np.sign(turn[run[0] : run[1] + 1].sum())
    outer = [k for k in (run[0] - 1, run[1] + 1) if 0 <= k < len(turn)]
    return float(sign * sum(max(0.0, sign * turn[k]) for k in outer))


def _bend(xy: Floats, curve: Floats, turn: Floats, run: Run) -> Bend | None:
    first, last = run
    radius = _radius(xy, turning(xy), run)
    if radius > CORNER_RADIUS_M:
        return None
    whole = float(turn[first : last + 1].sum()) + _at_edges(turn, run)
    at = first + int(np.abs(curve[first : last + 1]).argmax())
    return Bend(first=first, last=last, at=at, turn=whole, radius_m=max(radius, LEAST_RADIUS_M))


def _radius(xy: Floats, turn: Floats, run: Run) -> float:
    first, last = run
    share = np.abs(np.cumsum(turn[first : last + 1]) / turn[first : last + 1].sum())
    low = first + int(np.searchsorted(share, (1 - CORE_SHARE) / 2))
    high = first + int(np.searchsorted(share, (1 + CORE_SHARE) / 2))
    low, high = max(0, min(low, high - 1) - 1), min(len(xy) - 1, high + 1)
    return fit_circle(xy[low : high + 1]).radius_m
