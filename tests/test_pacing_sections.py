"""Sections tile the lap whatever the features are."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopwright.geo.sections import feature_name, sections
from loopwright.model.course import Course, CourseFeature
from loopwright.model.ground import FeatureKind
from pacing_help import course_of, feature, ring


def lap(*features: CourseFeature) -> Course:
    return course_of(ring(100.0), features=features)


def test_a_lap_without_features_is_one_section() -> None:
    (only,) = sections(lap())
    assert (only.name, only.number, only.from_m) == ("start to finish", 0, 0.0)


def test_a_corner_in_a_climb_parts_it_and_keeps_its_number() -> None:
    found = sections(
        lap(
            feature(1, FeatureKind.CLIMB, 100.0, 300.0),
            feature(2, FeatureKind.CORNER, 180.0, 200.0),
        )
    )
    names = [one.name for one in found]
    assert names == ["start to 1", "1 climb", "2 corner left", "1 climb, cont.", "1 to finish"]
    assert [one.number for one in found] == [0, 1, 2, 1, 0]
    assert [one.again for one in found] == [False, False, False, True, False]


def test_slivers_join_what_comes_before() -> None:
    found = sections(
        lap(
            feature(1, FeatureKind.CORNER, 3.0, 30.0),
            feature(2, FeatureKind.CORNER, 34.0, 60.0),
        )
    )
    assert [one.name for one in found][:2] == ["1 corner left", "2 corner left"]
    assert found[0].from_m == 0
    assert found[0].to_m == pytest.approx(34.0)


def test_names_say_kind_and_hand() -> None:
    assert feature_name(feature(7, FeatureKind.STEEP_CLIMB, 0, 50)) == "7 steep climb"
    assert feature_name(feature(8, FeatureKind.CORNER, 0, 50)) == "8 corner left"


@st.composite
def laps(draw: st.DrawFn) -> Course:
    count = draw(st.integers(0, 12))
    marks = []
    for number in range(1, count + 1):
        start = draw(st.floats(0.0, 600.0))
        length = draw(st.floats(1.0, 300.0))
        kind = draw(st.sampled_from(list(FeatureKind)))
        marks.append(feature(number, kind, start, min(start + length, 620.0)))
    return lap(*marks)


@settings(max_examples=80, deadline=None)
@given(laps())
def test_sections_tile_the_lap(course: Course) -> None:
    found = sections(course)
    assert found[0].from_m == 0
    assert found[-1].to_m == pytest.approx(course.length_m)
    assert all(a.to_m == b.from_m for a, b in pairwise(found))
    assert all(one.to_m > one.from_m for one in found)
    firsts = [one.number for one in found if one.feature and not one.again]
    assert len(firsts) == len(set(firsts))
