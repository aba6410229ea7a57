"""Features named as a rider names them: overlaps of one family are one, nothing is lost."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopwright.features.as_one import FAMILIES, TOUCH_M, as_one, named_as_one, sharper
from loopwright.model.course import CourseFeature, mark_m
from loopwright.model.ground import FeatureKind
from loopwright.model.rider import Rider
from loopwright.pacing import plan_lap
from pacing_help import course_of, stadium

Kind = FeatureKind


def feature(kind: Kind, begin: float, end: float, *, gain: float = 0.0) -> CourseFeature:
    down = -1.0 if "descent" in kind.value else 1.0
    return CourseFeature(
        number=1, kind=kind, from_m=begin, at_m=(begin + end) / 2, to_m=end, gain_m=gain,
        grade_mean=down * gain / (end - begin), grade_max=down * 1.2 * gain / (end - begin),
    )  # fmt: skip


def test_a_climb_with_its_steep_part_is_one_climb() -> None:
    whole = feature(Kind.CLIMB, 100.0, 400.0, gain=30.0)
    steep = feature(Kind.STEEP_CLIMB, 200.0, 280.0, gain=12.0)
    found = as_one((whole, steep))
    (one,) = found
    assert (one.kind, one.from_m, one.to_m, one.gain_m) == (Kind.CLIMB, 100.0, 400.0, 30.0)
    assert one.grade_mean == pytest.approx(0.1)
    assert one.grade_max == pytest.approx(0.18)
    assert sharper(one) == (steep,)


def test_a_climb_mostly_steep_is_called_steep() -> None:
    whole = feature(Kind.CLIMB, 100.0, 400.0, gain=40.0)
    steep = feature(Kind.STEEP_CLIMB, 120.0, 400.0, gain=38.0)
    found = as_one((whole, steep))
    assert found[0].kind is Kind.STEEP_CLIMB
    assert sharper(found[0]) == ()


def test_rough_descents_beside_each_other_are_one_and_their_drops_add_up() -> None:
    found = as_one(
        (
            feature(Kind.DESCENT, 0.0, 100.0, gain=10.0),
            feature(Kind.ROUGH_DESCENT, 105.0, 205.0, gain=8.0),
        )
    )
    (one,) = found
    assert one.gain_m == pytest.approx(18.0)
    assert one.grade_mean == pytest.approx(-18.0 / 205.0)


def test_what_lies_apart_or_is_of_another_family_stays_apart() -> None:
    found = as_one(
        (
            feature(Kind.CLIMB, 0.0, 100.0, gain=8.0),
            feature(Kind.CLIMB, 100.0 + TOUCH_M + 1.0, 200.0, gain=8.0),
            feature(Kind.CORNER, 40.0, 60.0),
            feature(Kind.CORNER, 45.0, 65.0),
            feature(Kind.DESCENT, 30.0, 90.0, gain=4.0),
        )
    )
    assert len(found) == 5


spans = st.builds(
    feature,
    st.sampled_from(list(Kind)),
    st.floats(0.0, 900.0),
    st.floats(901.0, 1500.0),
    gain=st.floats(0.0, 60.0),
)
short_spans = st.builds(
    lambda kind, begin, length, gain: feature(kind, begin, begin + length, gain=gain),
    st.sampled_from(list(Kind)),
    st.floats(0.0, 4000.0),
    st.floats(5.0, 250.0),
    st.floats(0.0, 25.0),
)


@given(st.lists(st.one_of(spans, short_spans), max_size=40))
def test_nothing_is_lost_and_numbers_follow_the_riding_order(
    features: list[CourseFeature],
) -> None:
    found = as_one(features)
    assert [f.number for f in found] == list(range(1, len(found) + 1))
    marks = [mark_m(f) for f in found]
    assert all(a <= b for a, b in pairwise(marks))
    for one in features:
        family = FAMILIES.get(one.kind, one.kind)
        assert any(
            FAMILIES.get(f.kind, f.kind) is family and f.from_m <= one.from_m and f.to_m >= one.to_m
            for f in found
        )
    for one in found:
        assert one.from_m <= one.at_m <= one.to_m


def test_a_climb_all_steep_has_one_number_and_its_targets() -> None:
    whole = replace(feature(Kind.CLIMB, 100.0, 160.0, gain=9.0), number=1)
    steep = replace(feature(Kind.STEEP_CLIMB, 100.0, 160.0, gain=9.0), number=2)
    course = course_of(stadium(120.0, 20.0), features=(whole, steep))
    merged = named_as_one(course)
    assert [f.number for f in merged.features] == [1]
    assert merged.found == (whole, steep)  # what is counted stays as it was found
    splits = plan_lap(merged, Rider(critical_power_w=250.0)).splits
    (split,) = [one for one in splits if one.number == 1]
    assert split.power_w is not None
    assert split.effort_cr10 is not None
