"""The local frame and geodesics against published and independent values."""

from __future__ import annotations

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic
from geographiclib.test.test_geodesic import GeodesicTest
from hypothesis import given
from hypothesis import strategies as st
from pyproj import Geod, Transformer

from loopwright.geo import polyline
from loopwright.geo.frame import (
    geodesic_length_m,
    origin_for,
    to_degrees,
    to_local,
)
from loopwright.model.arrays import Floats
from loopwright.model.frame import Origin


def dms(degrees: float, minutes: float, seconds: float) -> float:
    return (abs(degrees) + minutes / 60 + seconds / 3600) * (-1 if degrees < 0 else 1)


def test_geodesic_of_flinders_peak_to_buninyong() -> None:
    # Geoscience Australia, worked example on GRS80; after Vincenty 1975.
    flinders = dms(-37, 57, 3.72030), dms(144, 25, 29.52440)
    buninyong = dms(-37, 39, 10.15610), dms(143, 55, 35.38390)
    there, back, length = Geod(ellps="GRS80").inv(flinders[1], flinders[0], *buninyong[::-1])
    assert length == pytest.approx(54_972.271, abs=5e-4)
    assert there % 360 == pytest.approx(dms(306, 52, 5.37), abs=3e-6)
    assert back % 360 == pytest.approx(dms(127, 10, 25.07), abs=3e-6)
    # WGS 84 differs from GRS80 by 0.1 mm in the minor axis.
    pair = np.array([flinders, buninyong])
    assert geodesic_length_m(pair[:, 0], pair[:, 1]) == pytest.approx(54_972.271, abs=1e-3)


@pytest.mark.parametrize(("lat", "lon"), [(47.0, 8.5), (-44.12, 171.46), (89.5, 10), (0, 180)])
def test_the_frame_is_what_the_library_makes_of_its_name(lat: float, lon: float) -> None:
    # PyPI pyproj, which looks up WGS 84 and finds the steps itself.
    origin, rng = Origin(lat=lat, lon=lon), np.random.default_rng(4)
    name = f"+proj=tmerc +lat_0={lat} +lon_0={lon} +k=1 +ellps=WGS84 +units=m +no_defs"
    there = Transformer.from_crs("EPSG:4326", name, always_xy=True)
    at = np.clip(lat + rng.normal(0, 0.3, 50), -90, 90), lon + rng.normal(0, 0.3, 50)
    local = to_local(origin, *at)
    assert np.array_equal(local, np.column_stack(there.transform(at[1], at[0])))
    degrees = np.array(there.transform(local[:, 0], local[:, 1], direction="INVERSE"))[::-1]
    assert np.array(to_degrees(origin, local)) == pytest.approx(degrees, abs=1e-12, nan_ok=True)


def test_geodesic_of_the_length_of_an_island() -> None:
    # Computed independently on WGS 84.
    lat, lon = np.array([50.06632, 58.64402]), np.array([-5.71475, -3.07009])
    assert geodesic_length_m(lat, lon) == pytest.approx(969_954.166, abs=1e-3)


@pytest.mark.parametrize("row", GeodesicTest.testcases)
def test_geodesics_of_the_table_in_geographiclib(row: tuple[float, ...]) -> None:
    # 20 rows of Karney's geodesic test set, shipped in PyPI geographiclib.
    lat, lon = np.array([row[0], row[3]]), np.array([row[1], row[4]])
    assert geodesic_length_m(lat, lon) == pytest.approx(row[6], abs=1e-8 * row[6] + 1e-5)


def test_transverse_mercator_of_the_epsg_worked_example() -> None:
    # EPSG Guidance Note 7-2, Transverse Mercator: the projection our frame is built on.
    there = Transformer.from_crs(
        "+proj=longlat +a=6377563.396 +rf=299.32496 +no_defs",
        "+proj=tmerc +lat_0=49 +lon_0=-2 +k=0.9996013 +x_0=400000 +y_0=-100000 "
        "+a=6377563.396 +rf=299.32496 +units=m +no_defs",
        always_xy=True,
    )
    assert there.transform(0.5, 50.5) == pytest.approx((577_274.99, 69_740.50), abs=0.01)


@pytest.mark.parametrize(
    ("lat", "north_m", "east_m"),
    [(0.0, 110.57428, 111.31949), (45.0, 111.13179, 78.84684), (60.0, 111.41230, 55.80000)],
)
def test_a_thousandth_of_a_degree(lat: float, north_m: float, east_m: float) -> None:
    # Computed independently from the WGS 84 ellipsoid.
    origin = Origin(lat=lat, lon=10.0)
    here = to_local(origin, np.array([lat, lat + 5e-4, lat - 5e-4]), np.array([10.001, 10.0, 10.0]))
    assert here[0, 0] == pytest.approx(east_m, abs=1e-4)
    assert here[1, 1] - here[2, 1] == pytest.approx(north_m, abs=1e-4)


def _ring(lat: float, lon: float, radius_deg: float) -> tuple[Floats, Floats]:
    turn = np.linspace(0, 2 * np.pi, 200)
    return lat + radius_deg * np.sin(turn), lon + radius_deg * np.cos(turn) / np.cos(
        np.radians(lat)
    )


@given(lat=st.floats(-70, 70), lon=st.floats(-179.9, 179.9), off=st.floats(-0.15, 0.15))
def test_lap_lengths_agree_with_geodesics(lat: float, lon: float, off: float) -> None:
    origin = Origin(lat=lat, lon=lon)
    ring_lat, ring_lon = _ring(lat + off, lon + off, 0.01)
    local = polyline.length_m(to_local(origin, ring_lat, ring_lon))
    pairs = zip(ring_lat[:-1], ring_lon[:-1], ring_lat[1:], ring_lon[1:], strict=True)
    length = sum(Geodesic.WGS84.Inverse(*pair)["s12"] for pair in pairs)
    assert local == pytest.approx(length, rel=1e-5)


@given(
    lat=st.floats(-80, 80), lon=st.floats(-179.9, 179.9),
    x=st.floats(-20_000, 20_000), y=st.floats(-20_000, 20_000),
)  # fmt: skip
def test_degrees_and_back_give_the_place(lat: float, lon: float, x: float, y: float) -> None:
    origin = Origin(lat=lat, lon=lon)
    place = np.array([[x, y]])
    assert to_local(origin, *to_degrees(origin, place)) == pytest.approx(place, abs=1e-4)


def test_an_origin_lies_in_the_middle_even_over_the_antimeridian() -> None:
    origin = origin_for(np.array([10.0, 10.2]), np.array([179.95, -179.85]))
    assert origin.lat == pytest.approx(10.1)
    assert abs(origin.lon) == pytest.approx(179.95)
    with pytest.raises(ValueError, match="no points"):
        origin_for(np.zeros(0), np.zeros(0))


def test_empty_and_short_lines_have_no_length() -> None:
    assert geodesic_length_m(np.zeros(0), np.zeros(0)) == 0
    assert geodesic_length_m(np.ones(1), np.ones(1)) == 0
    assert to_local(Origin(lat=0, lon=0), np.zeros(0), np.zeros(0)).shape == (0, 2)
