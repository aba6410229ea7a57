"""The loop as GPX: valid by the GPX 1.1 schema, loads in gpxpy unchanged, same bytes always."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import gpxpy
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

from gpx_schemas import gpx_schema
from io_help import NAN, course
from loopwright.geo.frame import to_degrees
from loopwright.geo.polyline import at
from loopwright.io.gpx_write import ROUTE_TOLERANCE_M, loop_gpx
from loopwright.io.tracks import read_tracks
from loopwright.model.course import Course
from loopwright.model.document import PrivateCircle
from loopwright.model.frame import Origin

RULES = gpx_schema("1.1")


def check(data: bytes) -> None:
    RULES.assertValid(etree.fromstring(data))


def test_it_fits_the_rules_and_carries_all_three() -> None:
    data = loop_gpx(course(), now=datetime(2027, 5, 1, 8, tzinfo=UTC), invented=True)
    check(data)
    gpx = gpxpy.parse(data)
    assert (len(gpx.tracks), len(gpx.routes), len(gpx.waypoints)) == (1, 1, 3)
    assert gpx.creator == "Loopwright"
    assert str(gpx.description).startswith(
        "Invented ground. Check that the trail is open and legal"
    )


@pytest.mark.parametrize(
    "broken",
    [
        ('lat="46.5"', 'lat="91"'),
        ('version="1.1"', 'version="1.0"'),
        ("<ele>500.0</ele>", "<ele>5e2</ele>"),
        ("<ele>500.0</ele>", "<name>x</name><ele>500.0</ele>"),
    ],
)
def test_the_rules_refuse_what_is_wrong(broken: tuple[str, str]) -> None:
    text = loop_gpx(course()).decode()
    assert broken[0] in text
    assert not RULES.validate(etree.fromstring(text.replace(*broken, 1).encode()))


def test_gpxpy_reads_and_writes_it_unchanged() -> None:
    data = loop_gpx(course(), now=datetime(2027, 5, 1, 8, tzinfo=UTC))
    assert gpxpy.parse(data).to_xml(version="1.1").encode() == data


def test_positions_and_heights_are_those_of_the_course() -> None:
    lap = course()
    points = gpxpy.parse(loop_gpx(lap)).tracks[0].segments[0].points
    lat, lon = to_degrees(lap.origin, lap.xy)
    np.testing.assert_allclose([p.latitude for p in points], lat, atol=6e-8)
    np.testing.assert_allclose([p.longitude for p in points], lon, atol=6e-8)
    heights = [float(p.elevation or NAN) for p in points]
    np.testing.assert_allclose(heights, lap.ele_m, atol=0.006)
    assert (points[0].latitude, points[0].longitude) == (points[-1].latitude, points[-1].longitude)


def test_features_are_waypoints_in_riding_order() -> None:
    lap = course()
    waypoints = gpxpy.parse(loop_gpx(lap)).waypoints
    assert [w.name for w in waypoints] == ["1 climb", "2 corner", "3 corner"]
    places = at(lap.xy, np.array([each.at_m for each in lap.features]))
    lat, _ = to_degrees(lap.origin, places)
    np.testing.assert_allclose([w.latitude for w in waypoints], lat, atol=6e-8)
    assert waypoints[1].description == "corner left, 95 degrees, radius 8 m, banked"


def test_the_route_keeps_close_with_fewer_points() -> None:
    lap = course(400)
    gpx = gpxpy.parse(loop_gpx(lap))
    route = np.array([[p.latitude, p.longitude] for p in gpx.routes[0].points])
    assert 4 < len(route) < 100
    distances = [
        min(abs(gpxpy.geo.distance(a, b, None, p.latitude, p.longitude, None)) for a, b in
            np.column_stack((np.linspace(x[0], y[0], 50), np.linspace(x[1], y[1], 50))))
        for p in gpx.tracks[0].segments[0].points[::20]
        for x, y in [nearest(route, p.latitude, p.longitude)]
    ]  # fmt: skip
    assert max(distances) < ROUTE_TOLERANCE_M + 1.0


def nearest(route: np.ndarray, lat: float, lon: float) -> tuple[np.ndarray, np.ndarray]:
    """Return the two ends of the piece of route whose middle is nearest."""
    middle = (route[1:] + route[:-1]) / 2
    best = int(np.hypot(middle[:, 0] - lat, (middle[:, 1] - lon) * 0.69).argmin())
    return route[best], route[best + 1]


def test_the_same_course_makes_the_same_bytes() -> None:
    assert loop_gpx(course()) == loop_gpx(course())
    assert b"<time>" not in loop_gpx(course())


def test_times_are_written_in_utc() -> None:
    east = timezone(timedelta(hours=2))
    moments = [datetime(2027, 5, 1, 10, tzinfo=east), datetime(2027, 5, 1, 8)]  # noqa: DTZ001 - no zone means UTC
    for moment in moments:
        assert b"<time>2027-05-01T08:00:00Z</time>" in loop_gpx(course(), now=moment)


def test_it_reads_back_as_one_ride(tmp_path: Path) -> None:
    path = tmp_path / "loop.gpx"
    path.write_bytes(loop_gpx(course()))
    (track,) = read_tracks(path)
    assert (track.name, len(track)) == ("Larch loop", 41)


def test_no_heights_are_left_out() -> None:
    flat = course()
    data = loop_gpx(replace(flat, ele_m=np.full(41, NAN), features=()))
    check(data)
    assert b"<ele>" not in data
    assert b"<wpt" not in data


@settings(max_examples=40, deadline=None)
@given(st.floats(-89, 89), st.floats(-180, 180), st.text(max_size=20), st.floats(1e-6, 1e-3))
def test_any_place_and_any_name_fit_the_rules(
    lat: float, lon: float, name: str, size: float
) -> None:
    lap = course(name=name)
    check(loop_gpx(replace(lap, origin=Origin(lat=lat, lon=lon), xy=lap.xy * size)))


def far(lap: Course, circle: PrivateCircle, data: bytes) -> None:
    """Assert that no position of a GPX file lies in the circle."""
    for element in etree.fromstring(data).iter("{*}wpt", "{*}rtept", "{*}trkpt"):
        lat, lon = float(element.get("lat", "")), float(element.get("lon", ""))
        away = gpxpy.geo.distance(lat, lon, None, circle.lat, circle.lon, None)
        assert away > circle.radius_m * 0.999
    assert len(lap.xy) > 0


def test_nothing_in_the_private_circle_gets_out() -> None:
    lap = course(400)
    lat, lon = to_degrees(lap.origin, lap.xy[100:101])
    circle = PrivateCircle(lat=float(lat[0]), lon=float(lon[0]), radius_m=60.0)
    data = loop_gpx(lap, private=circle)
    check(data)
    far(lap, circle, data)
    assert 0 < len(gpxpy.parse(data).tracks[0].segments[0].points) < 400
    everywhere = loop_gpx(lap, private=replace(circle, radius_m=5000.0))
    check(everywhere)
    assert b"lat=" not in everywhere
