"""A loop as GPX 1.1: a track with heights, its features as waypoints, and a route.

Gets a Course; gives bytes that fit the GPX 1.1 schema. Promises: the same course makes the same
bytes (a time stands in them only if given); nothing inside the private circle gets out.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import UTC, datetime

import gpxpy.gpx
import numpy as np
from shapely import LineString

from loopwright.geo.frame import to_degrees
from loopwright.geo.polyline import at
from loopwright.io.cue_sheet import CAUTION, shown, words_for
from loopwright.io.json_file import DEGREE_PLACES
from loopwright.io.plain import plain
from loopwright.io.trim import parts_outside
from loopwright.io.wgs import positions
from loopwright.model.arrays import Floats
from loopwright.model.course import Course
from loopwright.model.document import PrivateCircle

CREATOR = "Loopwright"
ROUTE_TOLERANCE_M = 3.0
"""How far the route, with its fewer points, may run beside the track."""


def loop_gpx(
    course: Course,
    *,
    now: datetime | None = None,
    private: PrivateCircle | None = None,
    invented: bool = False,
    attributions: Sequence[str] = (),
) -> bytes:
    """Return the lap as a GPX 1.1 file in UTF-8; ``now`` stamps it, without it nothing does.

    ``attributions`` stand in the description and as the author of the copyright.
    """
    gpx = gpxpy.gpx.GPX()
    gpx.creator = CREATOR
    gpx.name = plain(course.name)
    whose = [plain(words) for words in attributions]
    told = ["Invented ground." if invented else "", CAUTION, *whose]
    gpx.description = " ".join(told).strip()
    gpx.copyright_author = ", ".join(whose) or None
    if now is not None:
        gpx.time = (now if now.tzinfo else now.replace(tzinfo=UTC)).astimezone(UTC)
    gpx.waypoints.extend(_waypoints(course, private))
    gpx.routes.append(_route(course, private))
    gpx.tracks.append(_track(course, private))
    text = gpx.to_xml(version="1.1")
    return str(text).encode("utf-8")


def _track(course: Course, private: PrivateCircle | None) -> gpxpy.gpx.GPXTrack:
    track = gpxpy.gpx.GPXTrack(name=plain(course.name))
    rows = positions(course.origin, course.xy, course.ele_m)
    for part in parts_outside(rows, private):
        points = [gpxpy.gpx.GPXTrackPoint(*_place(row)) for row in part]
        track.segments.append(gpxpy.gpx.GPXTrackSegment(points))
    return track


def _route(course: Course, private: PrivateCircle | None) -> gpxpy.gpx.GPXRoute:
    """Make the route; one that a private circle cuts keeps its longest part, being one line."""
    route = gpxpy.gpx.GPXRoute(name=plain(course.name))
    line = LineString(np.column_stack((course.xy, np.nan_to_num(course.ele_m))))
    bare = np.array(line.simplify(ROUTE_TOLERANCE_M).coords)
    heights = bare[:, 2] if course.has_heights else np.full(len(bare), np.nan)
    rows = positions(course.origin, bare[:, :2], heights)
    longest = max(parts_outside(rows, private), key=len, default=rows[:0])
    route.points.extend(gpxpy.gpx.GPXRoutePoint(*_place(row)) for row in longest)
    return route


def _waypoints(course: Course, private: PrivateCircle | None) -> list[gpxpy.gpx.GPXWaypoint]:
    features = shown(course, private)
    at_m = np.array([feature.at_m for feature in features])
    lat, lon = to_degrees(course.origin, at(course.xy, at_m))
    heights = np.interp(at_m, course.dist_m, course.ele_m) if len(at_m) else at_m
    rows = np.column_stack((lon, lat, heights))
    points = []
    for feature, row in zip(features, rows, strict=True):
        kind = feature.kind.value.replace("_", " ")
        point = gpxpy.gpx.GPXWaypoint(*_place(row), name=f"{feature.number} {kind}")
        point.description = words_for(feature)
        point.type = kind
        points.append(point)
    return points


def _place(row: Floats) -> tuple[float, float, float | None]:
    """Return lat, lon and height of a row (lon, lat, ele), a longitude of 180 turned to -180."""
    lon = round(float(row[0]), DEGREE_PLACES)
    height = round(float(row[2]), 2) if math.isfinite(row[2]) else None
    return round(float(row[1]), DEGREE_PLACES), -180.0 if lon >= 180 else lon, height
