"""Lines as arrays of points in local metres.

Every function takes ``(n, 2)`` float arrays and promises to give finite answers for finite input.
"""

from __future__ import annotations

import numpy as np

from loopwright.geo.planar import dots
from loopwright.model.arrays import Floats


def along(xy: Floats) -> Floats:
    """Distance from the first point to each point, ``(n,)`` metres; empty for an empty line."""
    run = np.zeros(len(xy))
    if len(xy) > 1:
        step = xy[1:] - xy[:-1]
        np.hypot(step[:, 0], step[:, 1]).cumsum(out=run[1:])
    return run


def length_m(xy: Floats) -> float:
    """Length in metres; 0 for fewer than two points."""
    return float(along(xy)[-1]) if len(xy) else 0.0


def at(xy: Floats, dist_m: Floats) -> Floats:
    """Points ``(k, 2)`` at distances ``(k,)`` along the line, held at its ends.

    Raises ValueError for an empty line.
    """
    if len(xy) == 0:
        message = "an empty line has no points"
        raise ValueError(message)
    have = along(xy)
    return np.column_stack((np.interp(dist_m, have, xy[:, 0]), np.interp(dist_m, have, xy[:, 1])))


def stations(total_m: float, step_m: float) -> Floats:
    """Evenly spaced distances from 0 to ``total_m`` inclusive, about ``step_m`` apart, >= 2."""
    return np.linspace(0.0, total_m, max(2, round(total_m / step_m) + 1))


def resample(xy: Floats, step_m: float) -> Floats:
    """Give the line at even spacing of about ``step_m``, both ends kept; ValueError if empty."""
    return at(xy, stations(length_m(xy), step_m))


def nearest_vertex(line: Floats, place: Floats) -> tuple[float, int]:
    """Metres on the ground plan from ``place`` to the nearest vertex of ``line``, and which it is.

    Both may have heights, which are not asked. Raises ValueError for an empty line.
    """
    gap_m = np.hypot(*(line[:, :2] - place[:2]).T)
    vertex = int(gap_m.argmin())
    return float(gap_m[vertex]), vertex


def project(line: Floats, points: Floats) -> tuple[Floats, Floats]:
    """Nearest place on ``line`` for each of ``points`` ``(k, 2)``.

    Returns ``(k,)`` metres along the line and ``(k,)`` signed offsets in metres, positive to the
    left of the line's direction. A line of one point gives plain distances, unsigned. Cost is
    k times n: for long lines against many points use ``scipy.spatial`` first.
    """
    if len(line) < 2:
        return np.zeros(len(points)), np.hypot(*(points - line[0]).T)
    start, step = line[:-1], np.diff(line, axis=0)
    size2 = np.maximum(dots(step, step), 1e-18)
    gap = points[:, None, :] - start[None, :, :]
    share = np.clip(dots(gap, step) / size2, 0.0, 1.0)
    off = gap - share[:, :, None] * step
    dist2 = dots(off, off)
    best = dist2.argmin(axis=1)
    rows = np.arange(len(points))
    run = along(line)[best] + share[rows, best] * np.sqrt(size2[best])
    cross = step[best, 0] * gap[rows, best, 1] - step[best, 1] * gap[rows, best, 0]
    return run, np.copysign(np.sqrt(dist2[rows, best]), np.where(cross == 0, 1.0, cross))


def headings(xy: Floats) -> Floats:
    """Direction of travel at each point, ``(n,)`` radians from east, anticlockwise."""
    if len(xy) < 2:
        return np.zeros(len(xy))
    step = np.gradient(xy, axis=0)
    return np.arctan2(step[:, 1], step[:, 0])
