"""JSON that people hand in: lines, ground, mixes, preferences."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest

from io_help import NAN
from loopwright.errors import WorldError
from loopwright.io import geojson_read, json_file
from loopwright.io.geojson import read_ground, read_lines
from loopwright.io.json_file import degrees, json_bytes, metres, read_json, write_json
from loopwright.io.mix_file import is_kind, read_mix, write_mix
from loopwright.io.preferences import Preferences, load_preferences, save_preferences
from loopwright.model.wishes import Mix

LINE = {"type": "LineString", "coordinates": [[13.2, 46.5], [13.21, 46.5, 500]]}
POINT = {"type": "Point", "coordinates": [1, 2]}
OTHER = {"type": "MultiLineString", "coordinates": [[[1, 2], [3, 4]], [[5, 6], [7, 8]]]}


def feature(geometry: object, **words: object) -> dict[str, object]:
    return {"type": "Feature", "geometry": geometry, "properties": words or None}


SHAPES = {
    "line": (LINE, 1),
    "many": (OTHER, 2),
    "feature": (feature(LINE), 1),
    "collection": ({"type": "FeatureCollection", "features": [feature(LINE), feature(OTHER)]}, 3),
    "geometries": ({"type": "GeometryCollection", "geometries": [LINE, OTHER]}, 3),
    "beside a point": (
        {
            "type": "FeatureCollection",
            "features": [feature(POINT), feature(None), feature(LINE)],
        },
        1,
    ),
}


def given(tmp_path: Path, value: object) -> Path:
    path = tmp_path / "in.geojson"
    path.write_text(value if isinstance(value, str) else json.dumps(value))
    return path


@pytest.mark.parametrize(("value", "count"), SHAPES.values(), ids=SHAPES.keys())
def test_lines_are_found_in_every_shape(tmp_path: Path, value: object, count: int) -> None:
    lines = read_lines(given(tmp_path, value))
    assert len(lines) == count
    assert all(line.shape == (2, 2) for line in lines)


def test_ground_comes_with_its_words(tmp_path: Path) -> None:
    value = {
        "type": "FeatureCollection",
        "features": [feature(LINE, surface="rock"), feature(LINE)],
    }
    ground = read_ground(given(tmp_path, value))
    assert [words for _, words in ground] == [{"surface": "rock"}, {}]
    assert ground[0][0].tolist() == [[13.2, 46.5], [13.21, 46.5]]


NESTED: object = LINE
for _ in range(9):
    NESTED = feature(NESTED)
BAD_LINES = {
    "no json": ("{", "is not JSON at line 1"),
    "nan": ('{"type": "LineString", "coordinates": [[NaN, 1], [1, 2]]}', "cannot be used"),
    "deep": ("[" * 100_000, "cannot be used"),
    "list": ([], "is not GeoJSON"),
    "type": ({"type": "Track"}, "is not GeoJSON"),
    "point only": ({"type": "Point", "coordinates": [1, 2]}, "holds no line"),
    "short": ({"type": "LineString", "coordinates": [[1, 2]]}, "fewer than two points"),
    "no cells": ({"type": "LineString"}, "a list is missing"),
    "text": ({"type": "LineString", "coordinates": [["1", 2], [3, 4]]}, "bad position, point 1"),
    "swapped": (
        {"type": "LineString", "coordinates": [[1, 2], [46.5, 113]]},
        "bad position, point 2",
    ),
    "flag": ({"type": "LineString", "coordinates": [[True, 2], [3, 4]]}, "bad position"),
    "flat": ({"type": "LineString", "coordinates": [1, 2, 3]}, "bad position"),
    "second": (
        {"type": "FeatureCollection", "features": [feature(LINE), feature({"type": "LineString"})]},
        "at feature 2",
    ),
    "nested": (
        feature(feature(feature(feature(feature(feature(feature(feature(LINE)))))))),
        "not GeoJ",
    ),
    "no features": ({"type": "FeatureCollection"}, "a list is missing"),
    "huge number": ({"type": "LineString", "coordinates": [[10**400, 2], [3, 4]]}, "bad position"),
}


@pytest.mark.parametrize(("value", "words"), BAD_LINES.values(), ids=BAD_LINES.keys())
def test_what_is_no_line_is_refused(tmp_path: Path, value: object, words: str) -> None:
    path = given(tmp_path, value)
    with pytest.raises(WorldError) as caught:
        read_lines(path)
    assert words in str(caught.value)
    assert str(caught.value).startswith(f"{path}: ")


@pytest.mark.parametrize("limit", ["LINE_LIMIT", "POINT_LIMIT"])
def test_too_many_lines(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, limit: str) -> None:
    monkeypatch.setattr(geojson_read, limit, 1)
    with pytest.raises(WorldError, match="too many lines"):
        read_lines(given(tmp_path, OTHER))


MIX = {
    "name": "Twisty",
    "targets": {"corners": 12, "ground_m:rock": 300},
    "weights": {"corners": 2},
}


def test_a_mix_comes_back(tmp_path: Path) -> None:
    path = tmp_path / "mix.json"
    mix = Mix(name="Twisty", targets={"corners": 12.0, "funnels": 1.0}, weights={"corners": 2.0})
    write_mix(mix, path)
    assert read_mix(path) == mix
    assert read_mix(given(tmp_path, MIX)).weight("ground_m:rock") == 1.0


def test_a_mix_without_a_name_takes_the_files(tmp_path: Path) -> None:
    assert read_mix(given(tmp_path, {"targets": {"corners": 1}})).name == "in"


BAD_MIXES = {
    "list": ([1], "is not a mix"),
    "field": (MIX | {"colour": "red"}, "unknown field 'colour'"),
    "kind": ({"targets": {"jumps": 3}}, "unknown kind 'jumps'"),
    "ground": ({"targets": {"ground_m:cheese": 3}}, "unknown kind 'ground_m:cheese'"),
    "words": ({"targets": {"corners": "many"}}, "of corners is not a number"),
    "flag": ({"targets": {"corners": True}}, "of corners is not a number"),
    "zero": ({"targets": {"corners": 0}}, "target of corners must be a number above 0"),
    "weight": (MIX | {"weights": {"corners": -1}}, "weight of corners must be a number above 0"),
    "huge": ({"targets": {"corners": 10**400}}, "corners"),
    "none": ({"name": "x"}, "at least one target"),
    "targets": ({"targets": []}, "'targets' is not an object"),
    "name": (MIX | {"name": 5}, "'name' is not text"),
    "blank": (MIX | {"name": "\n"}, "'name' is not text"),
}


@pytest.mark.parametrize(("value", "words"), BAD_MIXES.values(), ids=BAD_MIXES.keys())
def test_a_mix_that_makes_no_sense_is_named(tmp_path: Path, value: object, words: str) -> None:
    with pytest.raises(WorldError) as caught:
        read_mix(given(tmp_path, value))
    assert words in str(caught.value)


def test_kinds() -> None:
    assert is_kind("climb_gain_m")
    assert is_kind("ground_m:unknown")
    assert not is_kind("ground_m:")


def test_json_is_written_the_same_way_every_time(tmp_path: Path) -> None:
    value = {"b": [1.5, NAN, (2, None)], "a": {"é": [["x" * 60, "y" * 60]]}, "empty": [], 5: True}
    data = json_bytes(value)
    assert data == json_bytes(value)
    assert json.loads(data) == {
        "b": [1.5, None, [2, None]], "a": {"é": [["x" * 60, "y" * 60]]}, "empty": [], "5": True,
    }  # fmt: skip
    path = tmp_path / "out.json"
    write_json(path, value)
    assert path.read_bytes() == data
    assert read_json(path)["b"] == [1.5, None, [2, None]]


def test_long_lists_of_numbers_stay_on_one_line() -> None:
    assert json_bytes({"line": [[1.25, 2.5]] * 100}).count(b"\n") == 3
    assert json_bytes([{"a": "x" * 90}, {"b": 1}]).count(b"\n") == 6


def test_lone_surrogates_do_not_stop_the_writer() -> None:
    assert json_bytes({"name": "\ud800"}) == b'{"name": "\\ud800"}\n'


def test_rounding() -> None:
    assert degrees(13.123456789) == 13.1234568
    assert metres(1.23456) == 1.235
    assert metres(None) is None
    assert metres(math.inf) is None
    assert math.copysign(1, degrees(-1e-12)) == 1.0


def test_too_large_a_file_is_not_parsed(tmp_path: Path) -> None:
    with pytest.raises(WorldError, match="is larger than"):
        read_json(given(tmp_path, [1] * 100), limit=50)
    assert json_file.READ_LIMIT <= 2e8


WANTED = Preferences(
    units="imperial", theme="dark", language="de", text_scale=1.5, cautions_seen=True,
    recent=("/a", "/b"),
)  # fmt: skip


def test_preferences_come_back(tmp_path: Path) -> None:
    path = tmp_path / "new" / "preferences.json"
    save_preferences(WANTED, path)
    assert load_preferences(path) == WANTED


@pytest.mark.parametrize("text", ["", "{", "[]", "5", "\x00", '{"units": NaN}'])
def test_no_preferences_file_can_stop_the_start(tmp_path: Path, text: str) -> None:
    assert load_preferences(given(tmp_path, text)) == Preferences()
    assert load_preferences(tmp_path / "none.json") == Preferences()


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("units", "furlongs"), ("units", []), ("theme", 3), ("language", ""), ("language", 5),
        ("language", "\u202e"), ("text_scale", 9), ("text_scale", "1"), ("text_scale", True),
        ("cautions_seen", 1), ("recent", "x"), ("recent", [1]),
    ],
)  # fmt: skip
def test_a_bad_value_falls_back_alone(tmp_path: Path, key: str, value: object) -> None:
    path = tmp_path / "p.json"
    save_preferences(WANTED, path)
    words = json.loads(path.read_text()) | {key: value, "unknown": 1}
    path.write_text(json.dumps(words))
    found = load_preferences(path)
    for each in ("units", "theme", "language", "text_scale", "cautions_seen", "recent"):
        expected = getattr(Preferences() if each == key else WANTED, each)
        assert getattr(found, each) == expected
