"""Features as a rider names them: what is one thing on the trail has one name and number.

Gets the features of one lap; gives fewer, numbered anew in riding order. Promises: a climb with
steep parts is one climb, a descent with rough parts one descent, a funnel on a straight one
funnel; what was found inside stays with it, as its parts.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from loopwright.model.course import Course, CourseFeature, mark_m
from loopwright.model.ground import FeatureKind

FAMILIES: Mapping[FeatureKind, FeatureKind] = {
    FeatureKind.STEEP_CLIMB: FeatureKind.CLIMB,
    FeatureKind.ROUGH_DESCENT: FeatureKind.DESCENT,
    FeatureKind.FUNNEL: FeatureKind.STRAIGHT,
}
"""The sharper kind and the plain one it is a part of."""
MOST_OF_IT = 0.5
"""From this share on the whole takes the name of the sharper kind: our choice."""
TOUCH_M = 10.0
"""Parts of one family closer than this are one: less than two seconds of riding (our choice)."""


def named_as_one(course: Course) -> Course:
    """Give a course with such features."""
    return replace(course, features=as_one(course.features))


def as_one(features: Sequence[CourseFeature]) -> tuple[CourseFeature, ...]:
    """Merge what overlaps or touches within a family of kinds, and number the rest anew."""
    groups: list[list[CourseFeature]] = []
    open_groups: dict[FeatureKind, list[CourseFeature]] = {}
    for one in sorted(features, key=lambda f: (f.from_m, -f.to_m, f.number)):
        family = FAMILIES.get(one.kind, one.kind)
        group = open_groups.get(family)
        if family in FAMILIES.values() and group and one.from_m <= _end(group) + TOUCH_M:
            group.append(one)
            continue
        open_groups[family] = [one]
        groups.append(open_groups[family])
    merged = sorted((_merged(group) for group in groups), key=_place)
    return tuple(replace(one, number=n) for n, one in enumerate(merged, start=1))


def sharper(one: CourseFeature) -> tuple[CourseFeature, ...]:
    """List the parts of a sharper kind than the whole is called."""
    return () if one.kind in FAMILIES else tuple(p for p in one.parts if p.kind in FAMILIES)


def _place(one: CourseFeature) -> tuple[float, float, int]:
    return mark_m(one), one.to_m, one.number


def _end(group: Sequence[CourseFeature]) -> float:
    return max(one.to_m for one in group)


def _merged(group: Sequence[CourseFeature]) -> CourseFeature:
    """Make one feature of a group; a corner or a feature alone stays as it is."""
    if len(group) == 1:
        return group[0]
    largest = max(group, key=lambda one: (one.to_m - one.from_m, -one.number))
    begin, end = min(one.from_m for one in group), _end(group)
    gain = _gain(group)
    way = -1.0 if largest.grade_mean < 0 else 1.0
    sharp = [one for one in group if one.kind in FAMILIES]
    whole = sum(one.to_m - one.from_m for one in sharp) >= MOST_OF_IT * (end - begin)
    return replace(
        largest,
        kind=sharp[0].kind if whole else FAMILIES.get(largest.kind, largest.kind),
        from_m=begin,
        at_m=min(max(largest.at_m, begin), end),
        to_m=end,
        gain_m=gain,
        grade_mean=way * gain / max(end - begin, 1e-9),
        grade_max=max((one.grade_max for one in group), key=abs),
        parts=tuple(group),
    )


def _gain(group: Sequence[CourseFeature]) -> float:
    """Add the gains of parts that are not inside another one; what overlaps counts once."""
    gain, reached = 0.0, group[0].from_m
    for one in group:
        length = one.to_m - one.from_m
        fresh = max(0.0, one.to_m - max(one.from_m, reached))
        gain += one.gain_m * (fresh / length if length > 0 else 0.0)
        reached = max(reached, one.to_m)
    return gain
