"""GeoJSON of one loop.

Gets a Course; gives the lap as a LineString and its features in riding order.
Promises: nothing inside the private circle gets out; the numbers match those on the card.
"""

from __future__ import annotations

from collections.abc import Mapping

from loopwright.geo.ascent import LEAST_RISE_M
from loopwright.io.json_file import metres
from loopwright.io.trim import outside, parts_outside
from loopwright.io.wgs import cut, line_string, lines, point, positions
from loopwright.model.course import Course, CourseFeature
from loopwright.model.document import PrivateCircle
from loopwright.model.ground import FeatureKind

Value = dict[str, object]


def loop_geojson(
    course: Course,
    *,
    properties: Mapping[str, object] | None = None,
    private: PrivateCircle | None = None,
    invented: bool = False,
    attributions: tuple[str, ...] = (),
) -> Value:
    """Return a FeatureCollection: one ``loop`` and its ``feature``s.

    ``properties`` are added to the loop's own. With a private circle the lap may fall into parts
    (a MultiLineString) or, wholly inside, have no geometry.
    """
    rows = positions(course.origin, course.xy, course.ele_m)
    parts = parts_outside(rows, private)
    words: Value = {
        "role": "loop", "name": course.name, "length_m": metres(course.length_m),
        "ascent_m": metres(course.ascent_m),
        "stretches": [[str(stretch), way.value] for stretch, way in course.arcs],
    }  # fmt: skip
    lap = {
        "type": "Feature", "geometry": lines(parts) if parts else None,
        "properties": words | dict(properties or {}),
    }  # fmt: skip
    marks = (_feature(course, each, private) for each in course.features)
    return {
        "type": "FeatureCollection", "schema": 1, "invented": invented,
        "attributions": list(attributions),
            "ascent_least_rise_m": LEAST_RISE_M,
        "features": [lap, *(mark for mark in marks if mark is not None)],
    }  # fmt: skip


def _feature(course: Course, feature: CourseFeature, private: PrivateCircle | None) -> Value | None:
    geometry = _geometry(course, feature, private)
    if geometry is None:
        return None
    words: Value = {
        "role": "feature", "number": feature.number, "kind": feature.kind.value,
        "from_m": metres(feature.from_m), "at_m": metres(feature.at_m),
        "to_m": metres(feature.to_m), "turn_deg": metres(feature.turn_deg),
        "radius_m": metres(feature.radius_m), "gain_m": metres(feature.gain_m),
        "grade_mean": metres(feature.grade_mean), "grade_max": metres(feature.grade_max),
    }  # fmt: skip
    return {"type": "Feature", "geometry": geometry, "properties": words}


def _geometry(
    course: Course, feature: CourseFeature, private: PrivateCircle | None
) -> Value | None:
    corner = feature.kind is FeatureKind.CORNER
    span = (feature.at_m, feature.at_m) if corner else (feature.from_m, feature.to_m)
    xy, ele_m = cut(course.xy, course.ele_m, from_m=span[0], to_m=span[1])
    rows = positions(course.origin, xy, ele_m)
    if corner:
        seen = outside(rows[:1, 0], rows[:1, 1], private).all()
        return point(rows[0]) if seen else None
    parts = parts_outside(rows, private)
    return line_string(max(parts, key=len)) if parts else None
