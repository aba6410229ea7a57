"""Turning and curvature along a line.

Gets points in metres; gives angles in radians and curvatures in 1/m, positive to the left.
"""

from __future__ import annotations

import numpy as np

from loopwright.geo.planar import dots
from loopwright.model.arrays import Floats

LEAST_RADIUS_M = 2.0
"""No bike rides tighter: a wheelbase of 1.2 m steered by 30 degrees, 1.2 / tan 30 (computed)."""


def turning(xy: Floats) -> Floats:
    """Change of direction at each point of ``(n, 2)``, radians in (-pi, pi]; 0 at both ends.

    Points that repeat the one before turn nothing. The sum is the whole turn of the line.
    """
    turn = np.zeros(len(xy))
    if len(xy) < 3:
        return turn
    step = np.diff(xy, axis=0)
    moving = np.flatnonzero(np.hypot(step[:, 0], step[:, 1]) > 0)
    here = step[moving]
    cross = here[:-1, 0] * here[1:, 1] - here[:-1, 1] * here[1:, 0]
    turn[moving[1:]] = np.arctan2(cross, dots(here[:-1], here[1:]))
    return turn


def curvature(xy: Floats) -> Floats:
    """Curvature at each point of ``(n, 2)`` in 1/m: turn over the mean of the two steps.

    The ends take the value of their neighbour; fewer than three points give zeros.
    """
    if len(xy) < 3:
        return np.zeros(len(xy))
    step = np.hypot(*np.diff(xy, axis=0).T)
    around = np.concatenate(([step[0]], (step[:-1] + step[1:]) / 2, [step[-1]]))
    found = turning(xy) / np.maximum(around, 1e-9)
    found[0], found[-1] = found[1], found[-2]
    return np.asarray(found)


def menger(first: Floats, middle: Floats, last: Floats) -> float:
    """Curvature of the circle through three points ``(2,)``, 1/m, signed, 0 if they coincide.

    Four times the triangle's area over the product of its sides (Menger 1930).
    """
    one, two, three = middle - first, last - middle, last - first
    sides = float(np.hypot(*one) * np.hypot(*two) * np.hypot(*three))
    return 0.0 if sides == 0 else float(2 * (one[0] * two[1] - one[1] * two[0]) / sides)


def mean_over(values: Floats, dist_m: Floats, *, window_m: float) -> Floats:
    """Average ``values`` ``(n,)`` at ``dist_m`` over ``window_m``, cut off at the ends.

    The window should be at least two steps long; shorter ones act as that.
    """
    if len(values) < 2:
        return np.array(values)
    step = np.diff(dist_m)
    total = np.concatenate(([0.0], np.cumsum((values[:-1] + values[1:]) / 2 * step)))
    low = np.maximum(dist_m - window_m / 2, dist_m[0])
    high = np.minimum(dist_m + window_m / 2, dist_m[-1])
    span = np.interp(high, dist_m, total) - np.interp(low, dist_m, total)
    return np.asarray(span / np.maximum(high - low, 1e-9))
