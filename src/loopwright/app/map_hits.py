"""What lies under the pointer.

Gets a terrain or a lap, answers which stretch, or which metre of the lap, is nearest to a point.
Promises: answers in well under a millisecond for networks of a thousand stretches.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from loopwright.geo.polyline import project
from loopwright.model.arrays import Floats
from loopwright.model.course import Course
from loopwright.model.ground import Terrain
from loopwright.model.ids import StretchId

if TYPE_CHECKING:
    from shapely import LineString, STRtree


class GroundHits:
    """Finds stretches by place."""

    def __init__(self, terrain: Terrain | None) -> None:
        self.terrain = terrain
        self._tree: STRtree | None = None
        stretches = terrain.network.stretches if terrain else ()
        self._names = [s.id for s in stretches]
        self._lines: Sequence[LineString] = ()
        if stretches:
            from shapely import STRtree, linestrings

            sizes = [len(s.xy) for s in stretches]
            points, owners = np.concatenate([s.xy for s in stretches]), np.arange(len(stretches))
            self._lines = linestrings(points, indices=np.repeat(owners, sizes)).tolist()
            self._tree = STRtree(self._lines)

    def nearest(self, x: float, y: float, *, within_m: float) -> StretchId | None:
        """Name the stretch nearest to (x, y), None if none is within reach."""
        if self._tree is None:
            return None
        from shapely import Point

        found = self._tree.query_nearest(
            Point(x, y), max_distance=max(within_m, 1e-6), all_matches=False
        )
        return self._names[int(found[0])] if len(found) else None

    def inside(self, corners: Sequence[tuple[float, float]]) -> tuple[StretchId, ...]:
        """Name stretches that run through an area; fewer than three corners hold nothing."""
        if len(corners) < 3 or self._tree is None:
            return ()
        from shapely import Polygon, intersects

        area = Polygon(corners).buffer(0)
        hits = sorted(int(i) for i in self._tree.query(area))
        return tuple(self._names[i] for i in hits if intersects(area, self._lines[i]))


def lap_metre(course: Course, x: float, y: float, *, within_m: float) -> float | None:
    """Lap metre of the course nearest to (x, y), None if it is out of reach."""
    run, off = project(course.xy, np.array([[x, y]]))
    return float(run[0]) if abs(off[0]) <= within_m else None


def lap_points(course: Course, lap_m: Floats) -> Floats:
    """Places ``(k, 2)`` of lap metres ``(k,)`` in local metres, held to the lap."""
    x, y = (np.interp(lap_m, course.dist_m, course.xy[:, axis]) for axis in (0, 1))
    return np.column_stack((x, y))


def lap_point(course: Course, lap_m: float) -> tuple[float, float]:
    """Place (x, y) of a lap metre in local metres, held to the lap."""
    x, y = lap_points(course, np.array([lap_m]))[0].tolist()
    return x, y


def headings_at(course: Course, lap_m: Floats, *, over_m: float = 12.0) -> Floats:
    """Directions of riding ``(k,)`` at lap metres ``(k,)``, measured over a short base.

    In radians from east, anticlockwise.
    """
    before, after = lap_m - over_m / 2, lap_m + over_m / 2
    if course.closed:
        before, after = before % course.length_m, after % course.length_m
    east, north = (lap_points(course, after) - lap_points(course, before)).T
    return np.asarray(np.arctan2(north, east))


def arrow_metres(course: Course, spacing_m: float) -> Floats:
    """Lap metres at which to draw arrows, about ``spacing_m`` apart, never on the gate."""
    number = max(2, int(course.length_m / max(spacing_m, 1.0)))
    return (np.arange(number) + 0.5) * course.length_m / number
