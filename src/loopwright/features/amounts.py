"""What an arc adds to a loop.

Gets a stretch's features and ground; gives amounts for one way along it. Promises: never
negative, zeros left out, and equal to the sum over the features that count that way.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

import numpy as np

from loopwright.features.on_stretch import Piece
from loopwright.model.course import CourseFeature
from loopwright.model.ground import (
    GROUND_PREFIX,
    ROUGHNESSES,
    Amounts,
    Feature,
    FeatureKind,
    GroundSpan,
    Profile,
)
from loopwright.model.ids import Way

EASY_GRADE = 0.03
_GAINS = {FeatureKind.CLIMB: "climb_gain_m", FeatureKind.STEEP_CLIMB: "steep_gain_m"}
_LENGTHS = {
    FeatureKind.DESCENT: "descent_m",
    FeatureKind.ROUGH_DESCENT: "rough_descent_m",
    FeatureKind.STEADY: "steady_m",
}
_COUNTS = {FeatureKind.STRAIGHT: "straights", FeatureKind.FUNNEL: "funnels"}
SMOOTH_TO = ROUGHNESSES.index("intermediate")


def amounts_along(piece: Piece, features: Sequence[Feature], way: Way) -> Amounts:
    """Amounts of one stretch ridden ``way``."""
    found: dict[str, float] = defaultdict(float)
    for feature in features:
        if feature.way.counts(way):
            for kind, value in feature_amounts(feature):
                found[kind] += value
    for span in piece.spans:
        for kind, value in ground_of(span):
            found[kind] += value
    found["easy_m"] += easy_m(piece.profile)
    return {kind: float(value) for kind, value in sorted(found.items()) if value > 0}


def feature_amounts(feature: Feature | CourseFeature) -> list[tuple[str, float]]:
    """Tell what one feature adds."""
    if feature.kind is FeatureKind.CORNER:
        return [("corners", 1.0), ("tight_corners", float(feature.tight))]
    if feature.kind in _GAINS:
        return [(_GAINS[feature.kind], feature.gain_m)]
    if feature.kind in _LENGTHS:
        return [(_LENGTHS[feature.kind], feature.to_m - feature.from_m)]
    return [(_COUNTS[feature.kind], 1.0)]


def ground_of(span: GroundSpan) -> list[tuple[str, float]]:
    """Metres by surface, and metres narrow, rough, smooth, with obstacles; both ways alike."""
    length = span.to_m - span.from_m
    smoothness = ROUGHNESSES.index(span.roughness)
    return [
        (GROUND_PREFIX + span.surface, length),
        ("narrow_m", length * (span.width == "narrow")),
        ("rough_m", length * span.rough),
        ("obstacles_m", length * span.obstacles),
        ("smooth_m", length * (0 < smoothness <= SMOOTH_TO)),
    ]


def easy_m(profile: Profile) -> float:
    """Metres with a grade of 3 % at most either way; none without heights."""
    grade = np.abs(np.diff(profile.ele_m) / np.maximum(np.diff(profile.dist_m), 1e-9))
    return float(np.diff(profile.dist_m)[grade <= EASY_GRADE].sum())
