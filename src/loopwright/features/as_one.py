"""Features as a rider names them: what is one thing on the trail is one row on paper.

Gets the features of one lap; gives fewer, numbered anew in riding order. Promises: a climb with
steep parts is one climb, a descent with rough parts one descent, a funnel on a straight one
funnel; nothing of what lies inside is lost.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from loopwright.model.course import Course, CourseFeature, mark_m
from loopwright.model.ground import FeatureKind
from loopwright.model.rider import LapPlan

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


@dataclass(frozen=True, slots=True, kw_only=True)
class AsOne:
    """Features numbered from 1 in riding order.

    ``inside`` gives for a number the sharper parts it holds; ``was`` the numbers its parts had
    before, the largest first.
    """

    features: tuple[CourseFeature, ...]
    inside: Mapping[int, tuple[CourseFeature, ...]]
    was: Mapping[int, tuple[int, ...]]


def named_as_one(course: Course, plan: LapPlan | None) -> tuple[Course, LapPlan | None, AsOne]:
    """Give a course and its plan with such features, and what they hold."""
    parts = as_one(course.features)
    if plan is not None:
        # A steep part as long as the climb leaves the climb itself no section of its own.
        have = {split.number for split in plan.splits}
        now = {
            next((part for part in was if part in have), was[0]): number
            for number, was in parts.was.items()
        }
        splits = tuple(
            replace(split, number=now[split.number]) for split in plan.splits if split.number in now
        )
        plan = replace(plan, splits=splits)
    return replace(course, features=parts.features), plan, parts


def as_one(features: Sequence[CourseFeature]) -> AsOne:
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
    merged = sorted(((_merged(group), group) for group in groups), key=_place)
    return AsOne(
        features=tuple(replace(one, number=n) for n, (one, _) in enumerate(merged, start=1)),
        inside={n: _sharper(one, group) for n, (one, group) in enumerate(merged, start=1)},
        was={n: _numbers(group) for n, (_, group) in enumerate(merged, start=1)},
    )


def _numbers(group: Sequence[CourseFeature]) -> tuple[int, ...]:
    ranked = sorted(group, key=lambda one: (one.from_m - one.to_m, one.number))
    return tuple(one.number for one in ranked)


def _place(item: tuple[CourseFeature, list[CourseFeature]]) -> tuple[float, float, int]:
    return mark_m(item[0]), item[0].to_m, item[0].number


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


def _sharper(one: CourseFeature, group: Sequence[CourseFeature]) -> tuple[CourseFeature, ...]:
    """List the parts of a sharper kind than the whole is called."""
    return tuple(part for part in group if part.kind in FAMILIES and one.kind not in FAMILIES)
