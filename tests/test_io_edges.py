"""Rare turns of the readers and writers, each seen once."""

from __future__ import annotations

import json
import sys
import types
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Self

import numpy as np
import pytest

from io_help import course, document, gpx_text, point, season, terrain
from loopwright.errors import DamagedError, WorldError
from loopwright.geo.frame import to_degrees
from loopwright.io import heights, json_pieces
from loopwright.io.area_file import load_area, save_area
from loopwright.io.calendar import season_calendar
from loopwright.io.cue_sheet import cue_csv, cue_text
from loopwright.io.geojson import network_geojson
from loopwright.io.gpx_times import read_times
from loopwright.io.heights import open_heights
from loopwright.io.json_file import json_bytes
from loopwright.io.osm import read_osm
from loopwright.io.season_rows import season_csv
from loopwright.io.tracks import read_tracks
from loopwright.model.document import PrivateCircle
from loopwright.model.ids import StretchId
from loopwright.model.rider import LapPlan


def test_more_tags_than_are_remembered(tmp_path: Path) -> None:
    path = tmp_path / "ride.gpx"
    odd = "".join(f"<t{i}>1</t{i}>" for i in range(1100))
    path.write_text(gpx_text([point(46, 13, f"<x>{odd}</x><ele>5</ele>"), point(46, 13.1)]))
    assert read_tracks(path)[0].ele_m[0] == 5.0


def test_a_time_zone_beyond_a_day_is_no_time() -> None:
    assert np.isnan(read_times(["2023-01-01T00:00:00+99:00"])).all()


def test_extensions_that_are_not_well_formed_are_an_error(tmp_path: Path) -> None:
    path = tmp_path / "ride.gpx"
    path.write_text(gpx_text([point(46, 13, "<extensions><a></b></extensions>")] * 3))
    with pytest.raises(WorldError, match="not well-formed XML at line 2"):
        read_tracks(path)


def test_a_word_among_numbers_is_only_missing(tmp_path: Path) -> None:
    path = tmp_path / "ride.gpx"
    words = ("140", "n/a", "INF", "")
    rows = [point(46, 13, f"<extensions><hr>{word}</hr></extensions>") for word in words]
    path.write_text(gpx_text(rows))
    values = read_tracks(path)[0].extras["heart_rate_bpm"]
    assert str(values.tolist()) == "[140.0, nan, nan, nan]"


def test_infinite_numbers_do_not_get_into_an_area(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.loopwright"
    lax = json.JSONEncoder(ensure_ascii=False).encode
    monkeypatch.setattr(json_pieces, "_write", lax)
    whole = document()
    save_area(replace(whole, rider=replace(whole.rider, mass_kg=float("inf"))), path)
    with pytest.raises(DamagedError, match="'mass_kg' should be a finite number"):
        load_area(path)


def test_a_failing_disk_is_not_called_a_damaged_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.loopwright"
    save_area(document(), path)

    def fail(*_: object, **__: object) -> None:
        raise OSError(5, "Input/output error")

    monkeypatch.setattr("zipfile.ZipFile.open", fail)
    with pytest.raises(WorldError, match="Input/output error") as caught:
        load_area(path)
    assert not isinstance(caught.value, DamagedError)


def test_a_feature_on_no_stretch_is_left_out() -> None:
    whole = terrain()
    lost = replace(whole.features[0], stretch=StretchId("gone"))
    value = network_geojson(replace(whole, features=(lost,)))
    assert b'"climb"' not in json_bytes(value)


def test_numbers_of_numpy_are_numbers_in_json() -> None:
    value = {"a": np.float64(1.5), "b": np.int32(2), "c": np.float64("nan"), "d": np.bool_(1)}
    assert json.loads(json_bytes(value)) == {"a": 1.5, "b": 2, "c": None, "d": True}


def test_a_plan_puts_targets_beside_the_cues() -> None:
    first = course().features[0]
    dist_m = np.array([0.0, first.from_m, first.to_m, course().length_m])
    plan = LapPlan(
        lap_time_s=90, low_s=80, high_s=100, first_lap_s=95, laps=1, dist_m=dist_m,
        speed_mps=np.full(4, 5.0), time_s=np.array([0.0, 10.0, 31.4, 90.0]),
        power_w=np.zeros(4), splits=(), basis="made up",
    )  # fmt: skip
    assert "6 m at 8 %  21 s" in cue_text(course(), plan=plan)
    assert cue_csv(course(), plan=plan).splitlines()[1].endswith(",21.4")


def test_a_session_without_length_says_none() -> None:
    plan = season()
    bare = replace(plan.sessions[0], minutes=0.0, note="")
    data = season_calendar(
        replace(plan, sessions=(bare,)), name="A", now=datetime(2027, 1, 1, tzinfo=UTC)
    )
    assert b"min in all" not in data


def test_the_season_as_rows() -> None:
    rows = season_csv(replace(season(), sessions=(replace(season().sessions[0], note="=1+1"),)))
    assert rows.splitlines()[1].endswith("Larch loop,6.5,4,601.5,610.2,'=1+1")
    assert season_csv(season()).splitlines()[2].startswith("2027-05-05,recovery,easy spin,")


class Frame(str):
    """Stands in for a frame the library knows."""

    __slots__ = ()
    is_geographic, is_projected = True, False


DEGREES = Frame("EPSG:4326")


class Grid:
    """Stands in for an open GeoTIFF: 4 x 5 pixels of 0.1 degree from 13 E, 47 N."""

    crs: Any = DEGREES
    height, width = 4, 5
    is_degenerate = False

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        pass

    @property
    def transform(self) -> Any:
        return self

    def __invert__(self) -> Any:
        return types.SimpleNamespace(a=10.0, b=0.0, c=-130.0, d=0.0, e=-10.0, f=470.0)

    def read(self, _: int, *, window: Any, masked: bool) -> Any:
        if Grid.crs == "broken":
            raise RasterError
        cells = np.arange(20.0).reshape(4, 5)
        left, top, width, height = window
        part = cells[top : top + height, left : left + width]
        return np.ma.masked_equal(part, 19.0) if masked else part


class RasterError(Exception):
    """Stands in for the library's own fault."""


@pytest.fixture
def raster(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    library = types.ModuleType("rasterio")
    warp = types.ModuleType("rasterio.warp")
    warp.transform = lambda _, __, x, y: (x, y)  # type: ignore[attr-defined]  # a stand-in
    library.warp = warp  # type: ignore[attr-defined]  # a stand-in
    library.open = open_grid  # type: ignore[attr-defined]  # a stand-in
    library.errors = types.SimpleNamespace(RasterioError=RasterError)  # type: ignore[attr-defined]  # a stand-in
    library._err = types.SimpleNamespace(CPLE_BaseError=RasterError)  # type: ignore[attr-defined]
    library.windows = types.SimpleNamespace(Window=lambda *cells: cells)  # type: ignore[attr-defined]  # a stand-in
    monkeypatch.setitem(sys.modules, "rasterio", library)
    monkeypatch.setitem(sys.modules, "rasterio.warp", warp)
    path = tmp_path / "hill.tif"
    path.write_bytes(b"II*\0")
    yield path
    Grid.crs = DEGREES


def open_grid(path: Path) -> Grid:
    if path.name.startswith("bad"):
        raise RasterError
    return Grid()


def test_a_geotiff_is_read_at_pixel_centres(raster: Path) -> None:
    grid = open_heights(raster)
    lat = np.array([46.95, 46.90, 46.65, 50.0])
    lon = np.array([13.05, 13.10, 13.45, 13.05])
    assert str(grid.at(lat, lon).round(9).tolist()) == "[0.0, 3.0, nan, nan]"
    assert np.isnan(grid.at(lat[3:], lon[3:])).all()


def test_geotiffs_that_cannot_be_used(raster: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    bad = raster.rename(raster.with_name("bad.tif"))
    with pytest.raises(WorldError, match="is a damaged GeoTIFF"):
        open_heights(bad)
    good = bad.rename(raster)
    place = np.array([46.9]), np.array([13.1])
    grid = open_heights(good)
    Grid.crs = "broken"
    with pytest.raises(WorldError, match="is a damaged GeoTIFF"):
        grid.at(*place)
    Grid.crs = None
    with pytest.raises(WorldError, match="does not say where"):
        open_heights(good)
    Grid.crs = DEGREES
    monkeypatch.setattr(heights, "CELL_LIMIT", 1)
    with pytest.raises(WorldError, match="too fine for so wide an area"):
        grid.at(*place)


class Walk:
    """Stands in for the PBF library's walk over one way and one node."""

    def __init__(self, path: str, _: int) -> None:
        if "bad" in path:
            raise RuntimeError(path)

    def with_locations(self) -> list[Any]:
        place = types.SimpleNamespace(valid=lambda: True)
        gone = types.SimpleNamespace(valid=lambda: False)
        nodes = [
            types.SimpleNamespace(lon=13.2 + i / 100, lat=46.5, location=place) for i in range(3)
        ]
        nodes.append(types.SimpleNamespace(lon=0.0, lat=0.0, location=gone))
        way = types.SimpleNamespace(is_way=lambda: True, nodes=nodes, tags=Tags(highway="path"))
        river = types.SimpleNamespace(is_way=lambda: True, nodes=[], tags=Tags(waterway="river"))
        node = types.SimpleNamespace(is_way=lambda: False)
        return [node, river, way]


class Tags(dict[str, str]):
    """Stands in for the library's tags: asked by key, walked as pairs."""

    def __iter__(self) -> Iterator[Any]:
        return iter([types.SimpleNamespace(k=key, v=self[key]) for key in self.keys()])


def test_a_pbf_goes_through_the_optional_library(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    library = types.ModuleType("osmium")
    library.FileProcessor = Walk  # type: ignore[attr-defined]  # a stand-in
    library.osm = types.SimpleNamespace(NODE=1, WAY=2)  # type: ignore[attr-defined]  # a stand-in
    monkeypatch.setitem(sys.modules, "osmium", library)
    path = tmp_path / "hill.osm.pbf"
    path.write_bytes(b"\0\0\0\x0d")
    assert [len(line.line) for line in read_osm(path).lines] == [3]
    bad = path.rename(tmp_path / "bad.osm.pbf")
    with pytest.raises(WorldError, match="no readable OpenStreetMap extract"):
        read_osm(bad)


def test_an_encrypted_archive_is_told(tmp_path: Path) -> None:
    path = tmp_path / "a.loopwright"
    save_area(document(), path)
    data = bytearray(path.read_bytes())
    directory = data.rindex(b"PK\1\2", 0, data.index(b"PK\1\2") + 4)
    data[directory + 8] |= 1
    data[6] |= 1
    path.write_bytes(data)
    with pytest.raises(DamagedError, match=r"unreadable archive: File .* is encrypted"):
        load_area(path)


def test_a_feature_inside_the_circle_on_a_stretch_that_leads_out() -> None:
    whole = terrain()
    lat, lon = to_degrees(whole.network.origin, np.array([[100.0, 80.0]]))
    circle = PrivateCircle(lat=float(lat[0]), lon=float(lon[0]), radius_m=30.0)
    long = replace(
        whole.network.stretches[1],
        xy=np.array([[200.0, 0], [150, 40], [100, 80], [50, 40], [0, 0]]),
        ele_m=np.full(5, 500.0),
        std_error_m=np.ones(5),
    )
    network = replace(whole.network, stretches=(whole.network.stretches[0], long))
    text = json_bytes(network_geojson(replace(whole, network=network), private=circle))
    assert b'"climb"' in text
    assert b'"kind": "corner"' not in text
