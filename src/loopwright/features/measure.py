"""What a recorded lap asks.

Gets a course, for example a race lap; gives its amounts, counted by the same definitions as those
of the terrain, so that they can be the targets of a mix.
"""

from __future__ import annotations

from collections import defaultdict

import numpy as np

from loopwright.features.amounts import easy_m, feature_amounts, ground_of
from loopwright.features.bends import Bend
from loopwright.features.straights import steady_parts
from loopwright.model.arrays import Floats
from loopwright.model.course import Course
from loopwright.model.ground import (
    ROUGHNESSES,
    SURFACES,
    WIDTHS,
    Amounts,
    FeatureKind,
    GroundSpan,
    Profile,
)


def amounts_of(course: Course) -> Amounts:
    """Amounts of one lap; never negative, zeros left out."""
    found: dict[str, float] = defaultdict(float)
    for feature in course.found:
        for kind, value in feature_amounts(feature):
            found[kind] += value
    profile = _profile(course)
    found["steady_m"] += _steady_m(course, profile)
    found["easy_m"] += easy_m(profile)
    for span in _spans(course):
        for kind, value in ground_of(span):
            found[kind] += value
    return {kind: float(value) for kind, value in sorted(found.items()) if value > 0}


def _profile(course: Course) -> Profile:
    return Profile(
        dist_m=course.dist_m,
        xy=course.xy,
        ele_m=course.ele_m,
        grade=course.grade,
        grade_error=np.full(len(course.dist_m), np.nan),
        curvature_per_m=course.curvature_per_m,
    )


def _steady_m(course: Course, profile: Profile) -> float:
    corners = [
        Bend(first=first, last=last, at=first, turn=0.0, radius_m=f.radius_m)
        for f in course.features
        if f.kind is FeatureKind.CORNER
        for first, last in [np.searchsorted(course.dist_m, (f.from_m, f.to_m)).tolist()]
    ]
    runs = steady_parts(profile, corners)
    return float(sum(course.dist_m[last] - course.dist_m[first] for first, last in runs))


def _spans(course: Course) -> list[GroundSpan]:
    """Give the ground of every sample its share of the lap: half a step to either side."""
    middle = (course.dist_m[:-1] + course.dist_m[1:]) / 2
    edges: Floats = np.concatenate(([0.0], middle, [course.length_m]))
    return [
        GroundSpan(
            from_m=float(edges[k]),
            to_m=float(edges[k + 1]),
            surface=SURFACES[course.surface[k]],
            roughness=ROUGHNESSES[course.roughness[k]],
            width=WIDTHS[course.width[k]],
            roots=bool(course.rough[k]),
            obstacles=bool(course.obstacles[k]),
        )
        for k in range(len(course.dist_m))
    ]
