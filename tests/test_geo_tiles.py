"""Tile names against another library's Web Mercator."""

from __future__ import annotations

import numpy as np
import pytest
from pyproj import Transformer

from loopwright.geo.tiles import (
    EQUATOR_M,
    MOST_LAT,
    MOST_ZOOM,
    TileName,
    tile_degrees,
    tile_place,
    tiles_over,
    zoom_for,
)

PLACES = np.array([[0.0, 0.0], [46.5, 8.25], [-37.95, 144.42], [84.9, -179.99], [-84.9, 179.99]])


@pytest.mark.parametrize("zoom", [0, 3, 12, 18])
def test_tiles_lie_where_epsg_3857_puts_them(zoom: int) -> None:
    # Source: OGC 17-083r4 annex D.1 defines the matrix on EPSG:3857; computed with PyPI pyproj.
    lat, lon = PLACES.T
    x, y = Transformer.from_crs("EPSG:4326", "EPSG:3857", always_xy=True).transform(lon, lat)
    side = EQUATOR_M / 2**zoom
    column, row = tile_place(lat, lon, zoom)
    np.testing.assert_allclose(column, (x + EQUATOR_M / 2) / side, atol=1e-6)
    np.testing.assert_allclose(row, (EQUATOR_M / 2 - y) / side, atol=1e-6)


def test_degrees_come_back() -> None:
    lat, lon = PLACES.T
    again = tile_degrees(*tile_place(lat, lon, 15), 15)
    np.testing.assert_allclose(again, (lat, lon), atol=1e-9)


def test_the_square_world_ends_where_the_standard_says() -> None:
    # Source: OGC 17-083r4, WebMercatorQuad covers 85.0511 degrees south to north.
    assert pytest.approx(85.0511, abs=1e-4) == MOST_LAT
    _column, row = tile_place(np.array([89.9, -89.9]), np.array([0.0, 0.0]), 4)
    np.testing.assert_allclose(row, [0.0, 16.0], atol=1e-9)


def test_the_zoom_with_pixels_of_about_the_size_asked_for() -> None:
    # Source: OGC 17-083r4 table D.1: level 0 has 156543.0339280410 m a pixel, each level half.
    assert zoom_for(156543.0339280410, 0.0) == 0
    assert zoom_for(156543.0339280410 / 2**12, 0.0) == 12
    assert zoom_for(156543.0339280410 / 2**13, 60.0) == 12
    assert zoom_for(1e-9, 0.0) == MOST_ZOOM
    assert zoom_for(1e12, 0.0) == 0


def test_tiles_over_a_box_across_the_antimeridian_stay_side_by_side() -> None:
    found = tiles_over(np.array([10.0, 10.5]), np.array([179.9, 180.1]), 8)
    assert {t.column for t in found} == {255, 256}
    assert {t.around().column for t in found} == {255, 0}


def test_beyond_the_square_world_there_are_no_rows() -> None:
    found = tiles_over(np.array([85.0, 89.0]), np.array([0.0, 1.0]), 3)
    assert {t.row for t in found} == {0}


def test_a_parent_holds_its_children() -> None:
    assert TileName(10, 513, 700).parent() == TileName(9, 256, 350)
    assert TileName(10, -1, 3).parent(2) == TileName(8, -1, 0)
