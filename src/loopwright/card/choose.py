"""Choose which features a card numbers.

Gets what a card is made from; gives features. Promises: what is left out lies under a feature that
says more of the same ground, or is counted on the card; numbers never change.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from loopwright.card.sheet import CardInput
from loopwright.model.course import CourseFeature
from loopwright.model.ground import FeatureKind

SAYS_MORE = {
    FeatureKind.DESCENT: FeatureKind.ROUGH_DESCENT,
    FeatureKind.CLIMB: FeatureKind.STEEP_CLIMB,
    FeatureKind.STRAIGHT: FeatureKind.FUNNEL,
}
COVERED_SHARE = 0.8


def without_doubles(sheet: CardInput) -> CardInput:
    """Leave out features that a sharper one of the same sort covers: a descent all rough."""
    features = sheet.course.features
    kept = tuple(feature for feature in features if not _covered(feature, features))
    return with_features(sheet, (feature.number for feature in kept))


def _covered(feature: CourseFeature, features: tuple[CourseFeature, ...]) -> bool:
    sharper = SAYS_MORE.get(feature.kind)
    length = feature.to_m - feature.from_m
    shared = (
        min(feature.to_m, other.to_m) - max(feature.from_m, other.from_m)
        for other in features
        if other.kind is sharper
    )
    return length > 0 and any(part >= COVERED_SHARE * length for part in shared)


def with_features(sheet: CardInput, numbers: Iterable[int]) -> CardInput:
    """Give the same card with only the features of these numbers."""
    kept = frozenset(numbers)
    features = tuple(feature for feature in sheet.course.features if feature.number in kept)
    return replace(sheet, course=replace(sheet.course, features=features))
