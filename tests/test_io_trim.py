"""The private circle: what lies inside never gets out, as a point or as a line drawn across."""

from __future__ import annotations

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic
from hypothesis import given, settings
from hypothesis import strategies as st

from loopwright.io.trim import outside, parts_outside
from loopwright.model.arrays import Floats
from loopwright.model.document import PrivateCircle

WGS84 = Geodesic.WGS84


def around(lat: float, lon: float, away_m: Floats) -> Floats:
    """Return lon, lat ``(n, 2)`` at distances on WGS 84, bearings spread (geographiclib)."""
    ends = [WGS84.Direct(lat, lon, 137.0 * i, float(d)) for i, d in enumerate(away_m)]
    return np.array([[end["lon2"], end["lat2"]] for end in ends])


@settings(max_examples=60, deadline=None)
@given(st.floats(-89, 89), st.floats(-180, 180), st.floats(20, 5000))
def test_distances_agree_with_geodesics(lat: float, lon: float, radius_m: float) -> None:
    """Within 2 % of the radius either answer is right; nothing inside is ever let out."""
    circle = PrivateCircle(lat=lat, lon=lon, radius_m=radius_m)
    inside = around(lat, lon, radius_m * np.linspace(0.0, 1.0, 12))
    beyond = around(lat, lon, radius_m * np.linspace(1.02, 1.5, 12))
    assert not outside(inside[:, 0], inside[:, 1], circle).any()
    assert outside(beyond[:, 0], beyond[:, 1], circle).all()


def test_without_a_circle_all_stays() -> None:
    line = np.array([[13.2, 46.5], [13.3, 46.5], [13.4, 46.5]])
    (whole,) = parts_outside(line, None)
    np.testing.assert_array_equal(whole, line)
    assert parts_outside(line[:1], None) == ()
    assert parts_outside(line[:0], None) == ()


CIRCLE = PrivateCircle(lat=46.5, lon=13.2, radius_m=100.0)


def row(*east_m: float, north_m: float = 0.0) -> Floats:
    east = np.array(east_m) / (111_195 * np.cos(np.radians(46.5)))
    return np.column_stack((13.2 + east, np.full(len(east), 46.5 + north_m / 111_195)))


@pytest.mark.parametrize(
    ("line", "sizes"),
    [
        (row(-300, -200, -50, 50, 200, 300), [2, 2]),
        (row(-300, -200, 200, 300), [2, 2]),
        (row(-200, 200), []),
        (row(-300, -200, 200), [2]),
        (row(-300, 300, north_m=90), []),
        (row(-300, 300, north_m=110), [2]),
        (row(-50, 0, 50), []),
        (row(150, 200, 50, 150), [2]),
    ],
)
def test_a_line_is_cut_where_it_meets_the_circle(line: Floats, sizes: list[int]) -> None:
    assert [len(part) for part in parts_outside(line, CIRCLE)] == sizes


def test_a_circle_on_the_antimeridian() -> None:
    circle = PrivateCircle(lat=0.0, lon=179.9999, radius_m=100.0)
    lon = np.array([-179.9999, 179.9, -179.9])
    assert outside(lon, np.zeros(3), circle).tolist() == [False, True, True]
