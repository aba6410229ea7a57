"""Lines as arrays, also of no point, one point and points that repeat; against shapely."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import LineString, Point

from loopwright.geo.curvature import turning
from loopwright.geo.polyline import (
    along,
    at,
    headings,
    length_m,
    nearest_vertex,
    project,
    resample,
    stations,
)

NONE = np.zeros((0, 2))
ONE = np.array([[3.0, 4.0]])
BENT = np.array([[0.0, 0.0], [3.0, 4.0], [3.0, 4.0], [3.0, 10.0], [-2.0, 10.0]])


def test_lines_of_no_point_and_of_one() -> None:
    assert along(NONE).shape == (0,)
    assert length_m(NONE) == 0.0
    assert along(ONE).tolist() == [0.0]
    assert length_m(ONE) == 0.0
    assert at(ONE, np.array([-1.0, 5.0])).tolist() == [[3.0, 4.0]] * 2
    for line in (NONE, ONE):
        assert headings(line).tolist() == [0.0] * len(line)
        assert turning(line).tolist() == [0.0] * len(line)
    with pytest.raises(ValueError, match="an empty line has no points"):
        resample(NONE, 1.0)


def test_places_near_a_line_of_one_point() -> None:
    run, off = project(ONE, np.array([[3.0, 4.0], [6.0, 8.0], [3.0, -1.0]]))
    assert run.tolist() == [0.0, 0.0, 0.0]
    assert off.tolist() == [0.0, 5.0, 5.0]


def test_against_shapely() -> None:
    line = LineString(BENT)
    assert length_m(BENT) == line.length == 16.0
    places = np.linspace(-1.0, 17.0, 40)
    held = np.clip(places, 0.0, line.length)
    want = [line.interpolate(x).coords[0] for x in held]
    np.testing.assert_allclose(at(BENT, places), want)
    points = np.random.default_rng(5).uniform(-4, 12, (60, 2))
    run, off = project(BENT, points)
    np.testing.assert_allclose(np.abs(off), [line.distance(Point(p)) for p in points])
    np.testing.assert_allclose(run, [line.project(Point(p)) for p in points])


def test_left_is_positive() -> None:
    line = np.array([[0.0, 0.0], [10.0, 0.0]])
    assert project(line, np.array([[5.0, 2.0], [5.0, -2.0], [5.0, 0.0]]))[1].tolist() == [2, -2, 0]


def test_even_spacing_keeps_both_ends() -> None:
    assert stations(10.0, 3.0).tolist() == [0.0, 10 / 3, 20 / 3, 10.0]
    assert stations(0.1, 3.0).tolist() == [0.0, 0.1]
    assert resample(BENT, 4.0)[[0, -1]].tolist() == BENT[[0, -1]].tolist()
    assert len(resample(BENT, 4.0)) == 5


def test_points_that_repeat_turn_nothing() -> None:
    turn = turning(BENT)
    assert turn[[0, 1, -1]].tolist() == [0.0, 0.0, 0.0]
    np.testing.assert_allclose(turn[2:4], [np.arctan2(3, 4), np.pi / 2])
    np.testing.assert_allclose(headings(BENT)[[0, -1]], [np.arctan2(4, 3), np.pi])


def test_the_nearest_vertex_is_told_on_the_ground_plan() -> None:
    line = np.array([[0.0, 0.0, 900.0], [10.0, 0.0, 50.0], [20.0, 0.0, 50.0]])
    assert nearest_vertex(line, np.array([3.0, 4.0, 50.0])) == (5.0, 0)
    assert nearest_vertex(line[:, :2], np.array([13.0, 4.0])) == (5.0, 1)
    with pytest.raises(ValueError, match="empty"):
        nearest_vertex(line[:0], np.zeros(2))
