"""The whole job on the edges of the globe: what a place gives does not hang on where it lies.

One invented circuit is laid at the antimeridian, beside both poles, where equator and prime
meridian meet, and in the south west; everything found there must be what is found inland.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from datetime import date
from functools import cache
from pathlib import Path

import gpxpy
import numpy as np
import pytest
from PySide6.QtCore import QRectF
from pytestqt.qtbot import QtBot

from app_help import WISHES, Answers, ladder_document, rested, wait_until, window_on
from io_help import gpx_text, point
from loopwright.app.background_paint import Sheet
from loopwright.app.screen import ensure_widgets
from loopwright.borrow import box_of
from loopwright.card import card_pages
from loopwright.cards import card_input
from loopwright.cli.main import main
from loopwright.exports import write_loop, write_network
from loopwright.gather import apart, gather
from loopwright.geo.frame import geodesic_length_m, to_degrees, to_local
from loopwright.io.area_file import area_bytes, load_area, save_area
from loopwright.io.tracks import ride_id
from loopwright.model.document import Document
from loopwright.model.frame import Origin
from loopwright.model.loops import SavedLoop, SearchResult
from loopwright.model.rider import LapPlan
from loopwright.model.track import Ride
from loopwright.pipeline import Pipeline
from loopwright.reading import take_in
from loopwright.relief import lifted
from loopwright.units import Units

INLAND = Origin(lat=-47.0, lon=-122.0)
"""Where the tests' worlds lie; what is found here is what must be found elsewhere."""
PLACES = {
    "antimeridian": Origin(lat=-16.5, lon=180.0),
    "north pole": Origin(lat=89.998, lon=40.0),
    "south pole": Origin(lat=-89.996, lon=-120.0),
    "equator and prime meridian": Origin(lat=0.0, lon=0.0),
    "north east": Origin(lat=62.0, lon=151.0),
}
PRECISE_M = 0.05
"""Degrees of seven decimals are good to 11 mm; a lap adds up many of them."""


@dataclass(frozen=True, kw_only=True)
class Job:
    """What the whole job gives at one place."""

    pipeline: Pipeline
    document: Document
    result: SearchResult
    loop: SavedLoop
    plan: LapPlan
    trail_m: float


def laid(ride: Ride, there: Origin, *, east_m: float = 0.0) -> Ride:
    """The same ride somewhere else."""
    track = ride.track
    xy = to_local(INLAND, track.lat, track.lon) + np.array((east_m, 0.0))
    lat, lon = to_degrees(there, xy)
    moved = replace(track, lat=lat, lon=lon)
    return Ride(id=ride_id(moved), track=moved)


def rides_at(there: Origin, *, east_m: float = 0.0) -> list[Ride]:
    return [laid(ride, there, east_m=east_m) for ride in ladder_document().rides]


@cache
def job_at(there: Origin) -> Job:
    pipeline = Pipeline()
    document, far = take_in(Document(name="Edge (invented)", wishes=WISHES), rides_at(there))
    assert far == ()
    terrain = pipeline.terrain(document)
    result, loops = pipeline.search(document, WISHES)
    document = replace(document, found=loops)
    course = pipeline.course(document, loops[0])
    return Job(
        pipeline=pipeline, document=document, result=result, loop=loops[0],
        plan=pipeline.plan(document, course), trail_m=sum(terrain.lengths_m.values()),
    )  # fmt: skip


@pytest.mark.parametrize("place", PLACES)
def test_the_job_gives_the_same_there_as_inland(place: str, tmp_path: Path) -> None:
    here, inland = job_at(PLACES[place]), job_at(INLAND)
    assert here.trail_m == pytest.approx(inland.trail_m, rel=2e-3)
    assert here.result.proven
    assert len(here.result.loops) == len(inland.result.loops)
    for one, other in zip(here.result.loops, inland.result.loops, strict=True):
        assert one.length_m == pytest.approx(other.length_m, rel=5e-3)
        assert one.score == pytest.approx(other.score, abs=0.5)
    assert here.plan.lap_time_s == pytest.approx(inland.plan.lap_time_s, rel=1e-2)
    sheet = card_input(
        here.pipeline, here.document, here.loop, on=date(2031, 5, 1), units=Units.METRIC
    )
    assert len(card_pages(sheet, paper="A4")) == 1
    path = tmp_path / "edge.loopwright"
    save_area(here.document, path)
    assert area_bytes(load_area(path)) == path.read_bytes()
    again = Pipeline().course(load_area(path), load_area(path).found[0])
    assert again.length_m == pytest.approx(here.pipeline.course(here.document, here.loop).length_m)


@pytest.mark.parametrize("place", PLACES)
def test_exports_stay_on_the_globe_and_come_back(place: str, tmp_path: Path) -> None:
    here = job_at(PLACES[place])
    course = here.pipeline.course(here.document, here.loop)
    write_loop(here.document, course, here.plan, tmp_path / "lap.gpx")
    text = (tmp_path / "lap.gpx").read_text("utf-8")
    track = gpxpy.parse(text).tracks[0]
    lat = np.array([p.latitude for s in track.segments for p in s.points])
    lon = np.array([p.longitude for s in track.segments for p in s.points])
    # GPX 1.1 schema: longitudeType is -180 <= lon < 180, latitudeType -90 <= lat <= 90.
    assert ((lon >= -180.0) & (lon < 180.0) & (np.abs(lat) <= 90.0)).all()
    # An independent length: geodesics on WGS 84 (GeographicLib's, through pyproj.Geod).
    drawn_m = float(np.hypot(*np.diff(course.xy, axis=0).T).sum())
    assert geodesic_length_m(lat, lon) == pytest.approx(drawn_m, rel=1e-4)
    xy = to_local(course.origin, lat, lon)
    assert np.abs(xy - course.xy).max() < PRECISE_M
    write_network(here.document, here.pipeline.terrain(here.document), tmp_path / "n.geojson")
    write_loop(here.document, course, here.plan, tmp_path / "lap.geojson")
    for name in ("n.geojson", "lap.geojson"):
        value = json.loads((tmp_path / name).read_text("utf-8"))
        lines = [line for f in value["features"] for line in _lines(f["geometry"])]
        assert lines
        for line in lines:
            places = np.array([row[:2] for row in line])
            assert np.abs(places[:, 0]).max() <= 180.0
            assert np.abs(places[:, 1]).max() <= 90.0
            if "pole" not in place:  # RFC 7946, 3.1.9: no line jumps across the antimeridian
                assert np.abs(np.diff(places[:, 0])).max() < 1.0


def _lines(geometry: dict[str, list]) -> list[list[list[float]]]:  # type: ignore[type-arg]
    kind, rows = geometry["type"], geometry["coordinates"]
    return {"LineString": [rows], "MultiLineString": rows}.get(str(kind), [])


def test_exactly_on_the_antimeridian_a_gpx_says_minus_180(tmp_path: Path) -> None:
    here = job_at(PLACES["antimeridian"])
    course = here.pipeline.course(here.document, here.loop)
    on_it = replace(course, origin=Origin(lat=0.0, lon=180.0), xy=course.xy * (0.0, 1.0))
    write_loop(here.document, on_it, None, tmp_path / "lap.gpx")
    text = (tmp_path / "lap.gpx").read_text("utf-8")
    assert 'lon="-180.0"' in text
    assert 'lon="180' not in text


def test_ground_drawn_across_the_antimeridian_stays_short(tmp_path: Path) -> None:
    tile = tmp_path / "S17E179.hgt"
    tile.write_bytes(np.full((1201, 1201), 100, dtype=">i2").tobytes())
    line = np.array([[179.9995, -16.5], [-179.9995, -16.5]])
    made = lifted(line, str(tile))
    assert len(made) < 30
    assert (np.abs(made[:, 0]) <= 180.0).all()
    assert (np.abs(made[:, 0]) >= 179.9).all()


def test_the_box_of_an_area_across_the_antimeridian_is_small() -> None:
    document = job_at(PLACES["antimeridian"]).document
    south, west, north, east = box_of(document) or (0.0, 0.0, 0.0, 0.0)
    assert 0 < (east - west) % 360.0 < 0.2
    assert 0 < north - south < 0.2


@pytest.mark.parametrize("place", ["north pole", "south pole", "antimeridian"])
def test_map_tiles_are_asked_for_without_harm(place: str) -> None:
    ensure_widgets()
    sheet = Sheet(origin=PLACES[place], box=QRectF(-400, -400, 800, 800), scale=1.0, most_zoom=18)
    tiles = sheet.tiles()
    assert len(tiles) <= 160
    if tiles:
        assert sheet.corners(tiles).shape == (len(tiles), 4, 2)


def test_an_area_over_300_km_is_one_network_of_true_lengths() -> None:
    there = Origin(lat=-47.0, lon=-122.0)
    pipeline = Pipeline()
    rides = [r for east_m in (-149e3, 0.0, 149e3) for r in rides_at(there, east_m=east_m)[:3]]
    document, far = take_in(Document(name="Wide (invented)"), rides)
    assert far == ()
    terrain = pipeline.terrain(document)
    xy = np.vstack([s.xy for s in terrain.network.stretches])
    assert np.ptp(xy[:, 0]) > 298e3
    for stretch in terrain.network.stretches:
        lat, lon = to_degrees(terrain.network.origin, stretch.xy)
        # Snyder 1987, USGS PP 1395: scale 1 + x^2 / (2 R^2) is 1.00027 at 149 km.
        assert geodesic_length_m(lat, lon) == pytest.approx(
            float(np.hypot(*np.diff(stretch.xy, axis=0).T).sum()), rel=4e-4
        )
    result, _loops = pipeline.search(document, WISHES)
    assert result.loops


# -- two places in one area ------------------------------------------------------------------


FAR = Origin(lat=-47.0, lon=-110.0)


def gpx_files(folder: Path) -> list[Path]:
    """Three recordings here, two elsewhere, as files."""
    files = []
    for number, ride in enumerate((*rides_at(INLAND)[:3], *rides_at(FAR)[:2])):
        rows = zip(ride.track.lat, ride.track.lon, strict=True)
        files.append(folder / f"{number}.gpx")
        files[-1].write_text(gpx_text([point(lat, lon) for lat, lon in rows]))
    return files


def test_rides_of_many_places_fall_into_areas() -> None:
    here, far = rides_at(INLAND)[:2], rides_at(FAR)
    pole = rides_at(PLACES["north pole"])[:1]
    like = ladder_document()
    document, outside = gather(like, [*here, *far, *pole])
    areas = apart(document, outside)
    assert [{r.id for r in area.rides} for area in areas] == [
        {r.id for r in far}, {r.id for r in pole},
    ]  # fmt: skip
    assert [area.name for area in areas] == [f"{like.name} 2", f"{like.name} 3"]
    assert all(area.rider == like.rider for area in areas)


def test_the_command_says_and_splits(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    files = [str(path) for path in gpx_files(tmp_path)]
    area, beside = tmp_path / "a.loopwright", tmp_path / "a-2.loopwright"
    assert main(["import", str(area), *files]) == 0
    told = capsys.readouterr().err
    assert told.count("over 150 km") == 2
    assert "--split" in told
    assert not beside.exists()
    assert main(["import", str(area), *files, "--split"]) == 0
    assert "150 km" not in capsys.readouterr().err
    assert (len(load_area(area).rides), len(load_area(beside).rides)) == (3, 2)
    assert main(["import", str(area), *files, "--split"]) == 0
    assert beside.with_stem("a-3").exists(), "an area that is there is never written over"


@pytest.mark.parametrize("choice", [0, 1])
def test_the_window_asks_and_splits(qtbot: QtBot, tmp_path: Path, choice: int) -> None:
    target = tmp_path / "elsewhere.loopwright"
    answers = Answers(choice=choice, target=target, files=gpx_files(tmp_path))
    with window_on(Document(name="Invented"), answers=answers) as opened:
        opened.window.do("import")
        wait_until(qtbot, lambda: rested(opened) and bool(opened.desk.document.rides))
        wait_until(qtbot, lambda: rested(opened))
        assert len(opened.desk.document.rides) == 3
        assert target.exists() is (choice == 0)
        said = opened.desk.note + opened.desk.trouble
        assert ("elsewhere.loopwright" if choice == 0 else "2 lie too far away") in said
    if choice == 0:
        assert len(load_area(target).rides) == 2
