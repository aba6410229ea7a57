"""The loop as a line to follow.

Gets a course. Gives an even closed line with tangents, and for points the places on it that are
nearest. Promises: lap metres are the course's own.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loopwright.geo.planar import dots
from loopwright.geo.polyline import along
from loopwright.model.arrays import Floats
from loopwright.model.course import Course

STEP_M = 2.0
NEAR_M = 24.0
"""A fix further from the loop than this is not on it: four times a 5 m error, with some room."""
MOST_PLACES = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class LoopLine:
    """Closed line on an even grid: ``at_m`` ``(n,)`` lap metres, ``xy``, ``tangent`` ``(n, 2)``.

    The last point is not a repeat of the first.
    """

    at_m: Floats
    xy: Floats
    tangent: Floats
    length_m: float


def line_of(course: Course) -> LoopLine:
    """Put the course's line on an even grid of about 2 m."""
    return _gridded(course.dist_m, course.xy)


def closed_line(xy: Floats) -> LoopLine:
    """Close a line ``(n, 2)`` of a ridden lap and put it on an even grid of about 2 m."""
    ring = np.vstack((xy, xy[:1]))
    return _gridded(along(ring), ring)


def _gridded(dist_m: Floats, xy: Floats) -> LoopLine:
    length = float(dist_m[-1])
    at = np.linspace(0.0, length, max(round(length / STEP_M), 8) + 1)[:-1]

    def on(where: Floats) -> Floats:
        lap = where % length
        return np.column_stack([np.interp(lap, dist_m, xy[:, k]) for k in (0, 1)])

    chord = on(at + 3.0) - on(at - 3.0)
    size = np.maximum(np.hypot(chord[:, 0], chord[:, 1]), 1e-9)
    return LoopLine(at_m=at, xy=on(at), tangent=chord / size[:, None], length_m=length)


def frame_at(line: LoopLine, at_m: Floats) -> tuple[Floats, Floats]:
    """Points and unit tangents ``(k, 2)`` of the line at lap metres ``(k,)``, wrapping round."""
    place = (at_m % line.length_m) / line.length_m * len(line.at_m)
    low = np.floor(place).astype(np.int64) % len(line.at_m)
    high = (low + 1) % len(line.at_m)
    share = (place - np.floor(place))[:, None]
    point = line.xy[low] * (1 - share) + line.xy[high] * share
    tangent = line.tangent[low] * (1 - share) + line.tangent[high] * share
    size = np.maximum(np.hypot(tangent[:, 0], tangent[:, 1]), 1e-9)
    return point, tangent / size[:, None]


def places(line: LoopLine, points: Floats) -> tuple[Floats, Floats]:
    """Find the places on the loop nearest to each of ``points`` ``(k, 2)``.

    Returns lap metres and distances, both ``(k, MOST_PLACES)``, nearest first, padded with NaN
    and infinity. A place is a local minimum of the distance within NEAR_M.
    """
    from loopwright.laps.kernels import near_places  # compiles: only when needed

    pick, gap = near_places(points, line.xy, NEAR_M, MOST_PLACES)
    off = points[:, None, :] - line.xy[pick]
    along = dots(off, line.tangent[pick])
    return np.where(pick >= 0, (line.at_m[pick] + along) % line.length_m, np.nan), gap
