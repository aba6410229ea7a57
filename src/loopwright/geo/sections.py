"""Cut a lap into named sections that tile it.

Gets a course. Gives one section per feature and per piece of ground between features, in riding
order, without holes or overlaps. Promises: the first section starts at 0, the last ends at the
lap length, and the same course gives the same names wherever it is asked.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from loopwright.model.arrays import Floats, Ints
from loopwright.model.course import Course, CourseFeature
from loopwright.model.ground import FeatureKind

SLIVER_M = 6.0
"""Shorter ground joins its neighbour: a second or two cannot be told apart by a receiver."""

SPECIFIC_FIRST = (
    FeatureKind.CORNER, FeatureKind.STEEP_CLIMB, FeatureKind.ROUGH_DESCENT, FeatureKind.FUNNEL,
    FeatureKind.STRAIGHT, FeatureKind.CLIMB, FeatureKind.DESCENT, FeatureKind.STEADY,
)  # fmt: skip
"""Where features overlap, the lap metre belongs to the first of these."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """Lap metres ``from_m`` to ``to_m``; ``feature`` None is the ground between features.

    A long feature broken by a shorter one (a climb with a corner in it) comes in several
    sections with one number; all but the first are ``again``.
    """

    name: str
    from_m: float
    to_m: float
    feature: CourseFeature | None = None
    again: bool = False

    @property
    def number(self) -> int:
        """The feature's number, 0 for the ground between."""
        return self.feature.number if self.feature else 0


def feature_name(feature: CourseFeature) -> str:
    """Name a feature as map, card and laps print it, for example ``4 corner left``."""
    words = f"{feature.number} {feature.kind.value.replace('_', ' ')}"
    if feature.kind is FeatureKind.CORNER and feature.turn_deg:
        words += " left" if feature.turn_deg > 0 else " right"
    return words


def sections(course: Course) -> tuple[Section, ...]:
    """Tile the lap; a course without features gives one section."""
    edges = _edges(course)
    owners = _owners(course.features, (edges[:-1] + edges[1:]) / 2)
    runs = _without_slivers(_runs(edges, owners))
    return _named(course, runs)


def _edges(course: Course) -> Floats:
    marks = [0.0, course.length_m]
    for feature in course.features:
        marks += [feature.from_m, feature.to_m]
    return np.unique(np.clip(marks, 0.0, course.length_m))


def _owners(features: Sequence[CourseFeature], at_m: Floats) -> Ints:
    owners = np.full(len(at_m), -1, dtype=np.int32)
    rank = {kind: place for place, kind in enumerate(SPECIFIC_FIRST)}
    for place in sorted(range(len(features)), key=lambda i: -rank[features[i].kind]):
        owners[(at_m > features[place].from_m) & (at_m < features[place].to_m)] = place
    return owners


_Run = tuple[float, float, int]


def _runs(edges: Floats, owners: Ints) -> list[_Run]:
    runs: list[_Run] = []
    for start, end, owner in zip(edges[:-1], edges[1:], owners, strict=True):
        if runs and runs[-1][2] == owner:
            runs[-1] = (runs[-1][0], float(end), int(owner))
        else:
            runs.append((float(start), float(end), int(owner)))
    return runs


def _without_slivers(runs: list[_Run]) -> list[_Run]:
    """Give short nameless ground, and short left-overs of long features, to what comes before."""
    seen: set[int] = set()
    kept: list[_Run] = []
    for start, end, owner in runs:
        spare = owner < 0 or owner in seen
        if kept and (owner == kept[-1][2] or (spare and end - start < SLIVER_M)):
            kept[-1] = (kept[-1][0], end, kept[-1][2])
        else:
            kept.append((start, end, owner))
        seen.add(owner)
    if len(kept) > 1 and kept[0][2] < 0 and kept[0][1] - kept[0][0] < SLIVER_M:
        kept[:2] = [(kept[0][0], kept[1][1], kept[1][2])]
    return kept


def _named(course: Course, runs: list[_Run]) -> tuple[Section, ...]:
    seen: set[int] = set()
    named: list[Section] = []
    for place, (start, end, owner) in enumerate(runs):
        feature = course.features[owner] if owner >= 0 else None
        again = feature is not None and owner in seen
        name = _between(course, runs, place) if feature is None else feature_name(feature)
        name += ", cont." if again else ""
        named.append(Section(name=name, from_m=start, to_m=end, feature=feature, again=again))
        seen.add(owner)
    return tuple(named)


def _between(course: Course, runs: list[_Run], place: int) -> str:
    before = str(course.features[runs[place - 1][2]].number) if place else "start"
    last = place + 1 == len(runs)
    after = "finish" if last else str(course.features[runs[place + 1][2]].number)
    return f"{before} to {after}"
