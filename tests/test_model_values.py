"""Small values that every room shares: what they refuse, and what they say of themselves."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from io_help import document, season, wishes
from loopwright.model.arrays import floats, ints
from loopwright.model.course import CourseFeature, mark_m
from loopwright.model.ground import FeatureKind, FeatureWay, GroundSpan, Profile
from loopwright.model.ids import Way, Ways
from loopwright.model.picture import Disc, Line, Picture, Shape, Text, side_by_side
from loopwright.model.wishes import Place


def test_an_array_of_another_shape_is_refused() -> None:
    assert floats([], columns=3).shape == (0, 3)
    assert ints([1, 2], rows=2).tolist() == [1, 2]
    with pytest.raises(ValueError, match="expected 2 dimensions and 2 columns, got shape"):
        floats([[1.0, 2.0, 3.0]], columns=2)
    with pytest.raises(ValueError, match="expected 1 dimensions"):
        floats([[1.0, 2.0]])
    with pytest.raises(ValueError, match="expected 3 rows, got 2"):
        ints([1, 2], rows=3)


def test_an_array_taken_in_cannot_be_written_to() -> None:
    mine = np.array([1.0, 2.0, 3.0])
    whole, part = floats(mine), floats(mine[1:])
    mine[2] = 9.0
    assert part.tolist() == [2.0, 3.0]
    for kept in (whole, part):
        with pytest.raises(ValueError, match="read-only"):
            kept[0] = 5.0
    assert floats(whole) is whole


@pytest.mark.parametrize(
    ("lap_s", "fits"),
    [((600.0, 600.0), True), ((0.0, 600.0), False), ((601.0, 600.0), False), (None, True)],
)
def test_a_window_of_times_runs_upwards(lap_s: tuple[float, float] | None, *, fits: bool) -> None:
    if fits:
        assert replace(wishes(), lap_s=lap_s).lap_s == lap_s
    else:
        with pytest.raises(ValueError, match="a shorter to a longer time above 0"):
            replace(wishes(), lap_s=lap_s)


@pytest.mark.parametrize(("low", "fits"), [(4500.5, True), (4500.6, False), (0.0, False)])
def test_a_window_of_lengths_runs_upwards(low: float, *, fits: bool) -> None:
    if fits:
        assert replace(wishes(), min_length_m=low).min_length_m == low
    else:
        with pytest.raises(ValueError, match=f"got {low:g} to 4500.5 m"):
            replace(wishes(), min_length_m=low)


def test_saved_loops_are_equal_in_every_word_or_not_at_all() -> None:
    (loop,) = document().kept
    assert loop.equals(replace(loop, line=loop.line.copy()))
    for other in (
        replace(loop, name="another"), replace(loop, rank=7), replace(loop, score=1.5),
        replace(loop, match=1.5), replace(loop, line=loop.line + 1e-6),
        replace(loop, line=loop.line[1:]), replace(loop, wishes=replace(wishes(), count=4)),
    ):  # fmt: skip
        assert not loop.equals(other)
    unknown = replace(loop, line=np.where([[False, False, True]], np.nan, loop.line))
    assert unknown.equals(replace(unknown, line=unknown.line.copy()))


def test_a_corner_is_marked_where_it_is_tightest() -> None:
    corner = CourseFeature(kind=FeatureKind.CORNER, number=1, from_m=10.0, at_m=14.0, to_m=20.0)
    assert mark_m(corner) == 14.0
    assert mark_m(replace(corner, kind=FeatureKind.CLIMB)) == 10.0


@pytest.mark.parametrize(
    ("span", "rough"),
    [
        (GroundSpan(from_m=0, to_m=9), False),
        (GroundSpan(from_m=0, to_m=9, roughness="intermediate"), False),
        (GroundSpan(from_m=0, to_m=9, roughness="bad"), True),
        (GroundSpan(from_m=0, to_m=9, surface="rock"), True),
        (GroundSpan(from_m=0, to_m=9, roots=True), True),
        (GroundSpan(from_m=0, to_m=9, obstacles=True), False),
    ],
)
def test_rough_ground(span: GroundSpan, *, rough: bool) -> None:
    assert span.rough is rough


def test_a_feature_counts_in_its_own_way() -> None:
    counted = {(f, w): f.counts(w) for f in FeatureWay for w in Way}
    assert [key for key, told in counted.items() if not told] == [
        (FeatureWay.FORWARD, Way.BACKWARD), (FeatureWay.BACKWARD, Way.FORWARD),
    ]  # fmt: skip


def test_pages_side_by_side() -> None:
    line = Line(points=np.array([[1.0, 2.0], [3.0, 4.0]]), colour="#000000", width_mm=1.0)
    shape = Shape(points=line.points, fill="#000000")
    disc = Disc(x=5.0, y=6.0, radius_mm=1.0, fill=None)
    page = Picture(width_mm=100.0, height_mm=50.0, marks=(line, shape, disc), title="first")
    text = Picture(width_mm=30.0, height_mm=50.0, marks=(Text(x=1, y=2, words="a", size_mm=3),))
    assert side_by_side([page]) is page
    both = side_by_side([page, page, text], gap_mm=4.0)
    assert (both.width_mm, both.height_mm, both.title) == (238.0, 50.0, "first")
    xs = [m.points[0, 0] if isinstance(m, Line | Shape) else m.x for m in both.marks]
    ys = [m.points[0, 1] if isinstance(m, Line | Shape) else m.y for m in both.marks]
    assert xs == [1.0, 1.0, 5.0, 105.0, 105.0, 109.0, 209.0]
    assert ys == [2.0, 2.0, 6.0, 2.0, 2.0, 6.0, 2.0]


def test_ways_along_a_stretch() -> None:
    assert [way.other for way in Way] == [Way.BACKWARD, Way.FORWARD]
    allowed = {ways: [way for way in Way if ways.allows(way)] for ways in Ways}
    assert allowed == {
        Ways.BOTH: list(Way), Ways.FORWARD: [Way.FORWARD], Ways.BACKWARD: [Way.BACKWARD],
        Ways.CLOSED: [],
    }  # fmt: skip


def test_places_are_equal_when_their_lines_are() -> None:
    line = np.array([[13.2, 46.5], [13.3, 46.6]])
    one, same, other = Place(line=line), Place(line=line.copy()), Place(line=line[::-1])
    assert one == same
    assert len({one, same, other}) == 2
    assert one != line.tolist()


def test_a_day_is_done_once_it_was_rated_or_its_ride_noted() -> None:
    plan = season()
    day = replace(plan.sessions[0], rating_cr10=None, ridden=None)
    assert not day.done
    assert replace(day, rating_cr10=0.0).done
    ridden = next(one.ridden for one in plan.sessions if one.ridden)
    assert replace(day, ridden=ridden).done


def test_columns_of_a_profile_are_as_long_as_its_line() -> None:
    rows = {key: np.zeros(3) for key in Profile.__slots__ if key != "xy"}
    profile = Profile(xy=np.zeros((3, 2)), **rows)
    with pytest.raises(ValueError, match="read-only"):
        profile.grade[0] = 1.0
    with pytest.raises(ValueError, match="expected 3 rows, got 2"):
        replace(profile, ele_m=np.zeros(2))
