"""Positions for GeoJSON, at the edges of the map too."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from io_help import NAN, ORIGIN, course, terrain
from loopwright.geo.frame import geodesic_length_m
from loopwright.io.geojson import loop_geojson, network_geojson
from loopwright.io.wgs import cut, cut_at_antimeridian, line_string, position, positions
from loopwright.model.frame import Origin


def test_a_line_that_stays_on_one_side_is_left_whole() -> None:
    rows = np.array([[179.9, 1, 5], [180.0, 1, 6], [179.8, 1, NAN]])
    (whole,) = cut_at_antimeridian(rows)
    np.testing.assert_array_equal(whole, rows)
    assert line_string(rows) == {
        "type": "LineString", "coordinates": [[179.9, 1.0, 5.0], [180.0, 1.0, 6.0], [179.8, 1.0]],
    }  # fmt: skip


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_a_line_over_the_antimeridian_is_cut_there(side: float) -> None:
    """RFC 7946, 3.1.9: cut so that no part crosses."""
    rows = np.array([[179.9, 1, 10], [-179.9, 3, 20], [-179.8, 3, 20], [179.7, 0, 0]])
    rows[:, 0] *= side
    value = line_string(rows)
    assert value["type"] == "MultiLineString"
    cells = value["coordinates"]
    assert isinstance(cells, list)
    assert [len(part) for part in cells] == [2, 4, 2]
    assert cells[0][-1] == [180.0 * side, 2.0, 15.0]
    assert cells[1][0] == [-180.0 * side, 2.0, 15.0]
    assert cells[2][0][0] == 180.0 * side


def test_a_network_and_a_loop_there_keep_to_the_map() -> None:
    there = Origin(lat=-16.8, lon=180.0)
    whole = terrain()
    network = replace(whole.network, origin=there)
    value = network_geojson(replace(whole, network=network))
    features = value["features"]
    assert isinstance(features, list)
    assert all(abs(lon) <= 180 for each in features for lon in longitudes(each["geometry"]))
    lap = replace(course(), origin=there)
    first = loop_geojson(lap)["features"]
    assert isinstance(first, list)
    assert first[0]["geometry"]["type"] == "MultiLineString"
    total = sum(
        geodesic_length_m(np.array(part)[:, 1], np.array(part)[:, 0])
        for part in first[0]["geometry"]["coordinates"]
    )
    assert total == pytest.approx(lap.length_m, abs=0.1)


def longitudes(geometry: dict[str, object]) -> list[float]:
    cells = np.array([0.0])
    if geometry["type"] == "Point":
        return [geometry["coordinates"][0]]  # type: ignore[index]  # a parsed value
    parts = geometry["coordinates"]
    if geometry["type"] == "LineString":
        parts = [parts]
    assert isinstance(parts, list)
    for part in parts:
        cells = np.array([cell[0] for cell in part])
        assert (np.abs(np.diff(cells)) < 180).all()
    return [float(each) for each in cells]


@pytest.mark.parametrize("lat", [0.0, 45.0, -60.0, 85.0])
def test_lengths_on_the_globe_are_those_of_the_frame(lat: float) -> None:
    xy = np.array([[0.0, 0.0], [300.0, 400.0]])
    rows = positions(Origin(lat=lat, lon=-70.0), xy, np.zeros(2))
    assert geodesic_length_m(rows[:, 1], rows[:, 0]) == pytest.approx(500.0, rel=1e-5)


def test_cutting_holds_its_ends_on_the_line() -> None:
    xy, ele = np.array([[0.0, 0], [10, 0], [20, 0]]), np.array([0.0, 1, 2])
    points, heights = cut(xy, ele, from_m=-5, to_m=12.5)
    np.testing.assert_allclose(points[:, 0], [0, 10, 12.5])
    np.testing.assert_allclose(heights, [0, 1, 1.25])
    points, _ = cut(xy, ele, from_m=50, to_m=60)
    np.testing.assert_allclose(points[:, 0], [20, 20])


def test_an_unknown_height_is_left_out() -> None:
    (row,) = positions(ORIGIN, np.zeros((1, 2)), np.array([NAN]))
    assert position(row) == [13.2, 46.5]
