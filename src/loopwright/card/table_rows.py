"""The feature table as words: one row for each feature, one column for each target.

Gets what a card is made from; gives cells. Promises: a column nobody has a value for is left out.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

import numpy as np

from loopwright.card.contents import ColumnName, Content, is_wanted
from loopwright.card.number_marks import listed
from loopwright.card.sheet import CardInput
from loopwright.card.words import (
    brief_words,
    drive_words,
    effort_words,
    feature_words,
    glance_words,
    in_long,
    interval_words,
    long_unit,
    speed_unit,
    target_words,
    time_words,
)
from loopwright.model.course import CourseFeature, mark_m
from loopwright.model.ground import FeatureKind
from loopwright.model.rider import LapPlan, SplitTarget
from loopwright.units import Units, duration, short, speed

SAME_M = 1.0
HEADS: Mapping[ColumnName, str] = MappingProxyType(
    {
        "clock": "reach at",
        "split": "split",
        "range": "range",
        "target": "hold",
        "effort": "hold",
        "drive": "gear",
        "look": "look ahead",
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One feature in words; ``cells`` by column."""

    feature: CourseFeature
    place: str
    name: str
    brief: str
    glance: str
    target: str
    wanted: bool
    cells: Mapping[ColumnName, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """All rows in riding order, the columns that have values, and their heads."""

    rows: tuple[Row, ...]
    columns: tuple[ColumnName, ...]
    heads: Mapping[ColumnName, str]
    place_head: str
    title: str
    speed_unit: str


def table_for(sheet: CardInput, content: Content) -> Table:
    """Make the table; rows follow the features' numbers."""
    # A climb broken by a corner comes in several sections: the longest one tells its effort.
    ranked = sorted(sheet.plan.splits if sheet.plan else (), key=lambda s: s.to_m - s.from_m)
    splits = {s.number: s for s in ranked if s.number}
    features = listed(sheet.course.features)
    some = not all(is_wanted(feature, sheet) for feature in features)
    rows = tuple(
        _row(sheet, feature, whole_split(feature, splits.get(feature.number), sheet.plan), content)
        for feature in features
    )
    rows = tuple(replace(row, wanted=row.wanted and some) for row in rows)
    used = tuple(c for c in content.columns if any(row.cells[c] for row in rows))
    unit = long_unit(sheet.units)
    return Table(
        rows=rows,
        columns=used,
        heads=HEADS,
        place_head=unit,
        title=content.head,
        speed_unit=speed_unit(sheet.units),
    )


def whole_split(
    feature: CourseFeature, split: SplitTarget | None, plan: LapPlan | None
) -> SplitTarget | None:
    """Give the split for the whole feature, where the plan has none or stops it at one inside.

    The interval keeps its share of the time, that of the lap where the plan has no split.
    """
    if plan is None or not len(plan.dist_m):
        return split
    if split is None:
        split = SplitTarget(
            number=feature.number,
            name=feature.kind.value,
            from_m=0.0,
            to_m=0.0,
            time_s=plan.lap_time_s,
            low_s=plan.low_s,
            high_s=plan.high_s,
        )
    same = abs(split.from_m - feature.from_m) < SAME_M and abs(split.to_m - feature.to_m) < SAME_M
    if same or split.time_s <= 0:
        return split
    begin, end = np.interp((feature.from_m, feature.to_m), plan.dist_m, plan.time_s).tolist()
    share = (end - begin) / split.time_s
    return replace(
        split, time_s=end - begin, low_s=split.low_s * share, high_s=split.high_s * share
    )


def _row(
    sheet: CardInput, feature: CourseFeature, split: SplitTarget | None, content: Content
) -> Row:
    cells = {c: "" if split is None else _cell(c, split, sheet.units) for c in content.columns}
    if "clock" in cells:
        cells["clock"] = _clock(feature, sheet.plan)
    return Row(
        feature=feature,
        place=f"{in_long(mark_m(feature), sheet.units):.2f}",
        name=feature_words(feature, sheet.units, sheet.parts_of(feature)),
        brief=brief_words(feature, sheet.units, sheet.parts_of(feature)),
        glance=glance_words(feature, sheet.units),
        target="" if split is None else one_target(feature, split, sheet.units),
        wanted=is_wanted(feature, sheet),
        cells=cells,
    )


def _cell(column: ColumnName, split: SplitTarget, units: Units) -> str:
    makers: dict[str, Callable[[], str]] = {
        "split": lambda: time_words(split),
        "range": lambda: interval_words(split.low_s, split.high_s),
        "effort": lambda: effort_words(split),
        "target": lambda: target_words(split, units),
        "drive": lambda: drive_words(split),
        "look": lambda: "" if split.look_ahead_m is None else short(split.look_ahead_m, units),
    }
    return makers[column]() if column in makers else ""


def one_target(feature: CourseFeature, split: SplitTarget, units: Units) -> str:
    """Give the one target worth a glance: the lowest speed of a corner, else the time."""
    if feature.kind is FeatureKind.CORNER and split.lowest_mps is not None:
        return speed(split.lowest_mps, units)
    return time_words(split)


def _clock(feature: CourseFeature, plan: LapPlan | None) -> str:
    if plan is None or not len(plan.dist_m):
        return ""
    return duration(float(np.interp(feature.from_m, plan.dist_m, plan.time_s)))
