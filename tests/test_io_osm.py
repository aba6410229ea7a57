"""Trails from OpenStreetMap extracts; the extracts here are invented."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from loopwright.errors import NoAnswerError, WorldError
from loopwright.io import osm_source
from loopwright.io.osm import ATTRIBUTION, read_osm
from loopwright.io.osm_ground import ground_of, is_open, obstacles_of, ways_of
from loopwright.io.xml_guard import CHUNK
from loopwright.model.ids import Ways

NODES = "".join(f'<node id="{i}" lat="{46.5 + i / 1e4}" lon="13.2"/>' for i in range(6))


def way(tags: str, nodes: str = "012") -> str:
    cells = "".join(f'<nd ref="{node}"/>' for node in nodes)
    words = "".join(
        '<tag k="{}" v="{}"/>'.format(*tag.split("=")) for tag in tags.split() if "=" in tag
    )
    return f'<way id="1">{cells}{words}</way>'


def extract(tmp_path: Path, *ways: str) -> Path:
    path = tmp_path / "hill.osm"
    body = NODES + "".join(ways)
    path.write_text(f"<?xml version='1.0'?><osm version='0.6'><bounds/>{body}<relation/></osm>")
    return path


def test_a_trail_with_its_ground_and_name(tmp_path: Path) -> None:
    tags = "highway=path surface=earth smoothness=bad width=0.6 name=Larch oneway=yes"
    found = read_osm(extract(tmp_path, way(tags)))
    (line,) = found.lines
    assert line.line.tolist() == [[13.2, 46.5], [13.2, 46.5001], [13.2, 46.5002]]
    assert (line.surface, line.roughness, line.width) == ("dirt", "bad", "narrow")
    assert (line.name, line.one_way) == ("Larch", True)
    assert found.attribution == ATTRIBUTION == "© OpenStreetMap contributors (ODbL)"


@pytest.mark.parametrize(
    ("tags", "expected"),
    [
        ({"highway": "track"}, True),
        ({"highway": "path", "access": "private"}, False),
        ({"highway": "path", "access": "private", "bicycle": "permissive"}, True),
        ({"highway": "cycleway", "bicycle": "no"}, False),
        ({"highway": "footway"}, False),
        ({"highway": "footway", "bicycle": "designated"}, True),
        ({"highway": "path", "bicycle": "dismount"}, False),
        ({"highway": "motorway", "bicycle": "yes"}, False),
        ({"highway": "service", "vehicle": "no"}, False),
        ({"highway": "track", "access": "destination"}, False),
        ({"highway": "track", "access": "customers"}, False),
        ({"highway": "track", "access": "agricultural", "bicycle": "yes"}, True),
        ({"highway": "cycleway", "vehicle": "private"}, False),
        ({"waterway": "river"}, False),
    ],
)
def test_who_may_ride(tags: dict[str, str], expected: bool) -> None:  # noqa: FBT001 - a table of cases
    assert is_open(tags) is expected


@pytest.mark.parametrize(
    ("tags", "words"),
    [
        ({}, (None, None, None)),
        ({"surface": "paved", "smoothness": "lovely", "width": "wide"}, (None, None, None)),
        ({"surface": "unknown", "smoothness": "unknown"}, (None, None, None)),
        ({"surface": "bare_rock", "width": "1.5 m"}, ("rock", None, "wide")),
        ({"smoothness": "horrible", "width": "1"}, (None, "horrible", "wide")),
    ],
)
def test_ground_words(tags: dict[str, str], words: tuple[str | None, ...]) -> None:
    assert ground_of(tags) == words


def test_obstacles_are_told_only_where_the_map_tells_them(tmp_path: Path) -> None:
    # Values of the OpenStreetMap wiki's page Key:obstacle.
    assert obstacles_of({"obstacle": "fallen_tree"}) is True
    assert obstacles_of({"obstacle": "no"}) is False
    assert obstacles_of({"surface": "rock"}) is None
    (line,) = read_osm(extract(tmp_path, way("highway=path obstacle=vegetation"))).lines
    assert line.obstacles is True


def test_only_what_lies_within(tmp_path: Path) -> None:
    path = extract(tmp_path, way("highway=path"), way("highway=track", "345"))
    assert len(read_osm(path).lines) == 2
    assert len(read_osm(path, within=(46.5, 13.1, 46.50015, 13.3)).lines) == 1
    with pytest.raises(NoAnswerError, match="no way open to bicycles here"):
        read_osm(path, within=(0, 0, 1, 1))


def test_missing_nodes_are_left_out(tmp_path: Path) -> None:
    path = extract(tmp_path, way("highway=path", "0819"), way("highway=path", "89"))
    (line,) = read_osm(path).lines
    assert len(line.line) == 2


@pytest.mark.parametrize(
    ("tags", "ways"),
    [
        # OpenStreetMap wiki, Key:oneway, Tag:oneway=-1, Key:oneway:bicycle, Tag:junction=roundabout
        ({}, Ways.BOTH),
        ({"oneway": "no"}, Ways.BOTH),
        ({"oneway": "yes"}, Ways.FORWARD),
        ({"oneway": "true"}, Ways.FORWARD),
        ({"oneway": "-1"}, Ways.BACKWARD),
        ({"oneway": "reverse"}, Ways.BACKWARD),
        ({"oneway": "reversible"}, Ways.CLOSED),
        ({"oneway": "alternating"}, Ways.CLOSED),
        ({"oneway": "yes", "oneway:bicycle": "no"}, Ways.BOTH),
        ({"oneway": "yes", "oneway:bicycle": "-1"}, Ways.BACKWARD),
        ({"oneway:bicycle": "yes"}, Ways.FORWARD),
        ({"oneway": "reversible", "oneway:bicycle": "no"}, Ways.BOTH),
        ({"junction": "roundabout"}, Ways.FORWARD),
        ({"junction": "roundabout", "oneway": "no"}, Ways.BOTH),
    ],
)
def test_which_way_a_bicycle_may_go(tags: dict[str, str], ways: Ways) -> None:
    assert ways_of(tags) is ways


def test_a_line_of_one_direction_runs_as_it_may_be_ridden(tmp_path: Path) -> None:
    ahead = [[13.2, 46.5], [13.2, 46.5001], [13.2, 46.5002]]
    for tags, line, one_way in (
        ("oneway=yes", ahead, True),
        ("oneway=-1", ahead[::-1], True),
        ("oneway=yes oneway:bicycle=no", ahead, False),
    ):
        (found,) = read_osm(extract(tmp_path, way(f"highway=track {tags}"))).lines
        assert (found.line.tolist(), found.one_way) == (line, one_way)
    path = extract(tmp_path, way("highway=track oneway=reversible"), way("highway=path"))
    assert len(read_osm(path).lines) == 1


BAD = {
    "empty osm": ("<osm/>", "no way open"),
    "other": ("<gpx><way/></gpx>", "no OpenStreetMap extract"),
    "other still": ("<html/>", "no OpenStreetMap extract"),
    "cut": (f"<osm>{NODES}<way>", "breaks off"),
    "globe": ('<osm><node id="1" lat="91" lon="1"/></osm>', "node off the globe at line 1"),
    "words": ('<osm><node id="1" lat="x" lon="1"/></osm>', "node off the globe"),
    "bomb": ('<!DOCTYPE osm [<!ENTITY a "b">]><osm/>', "declares entities"),
    "junk": ("<osm>" + "<a/>" * 600_000 + "</osm>", "MB without a node or way"),
    "osm inside": ("<a><osm/></a>", "no OpenStreetMap extract"),
    "huge way": ("<osm><way>" + "<nd/>" * 500_000 + "</way></osm>", "absurd size"),
}


@pytest.mark.parametrize(("text", "words"), BAD.values(), ids=BAD.keys())
def test_bad_extracts_are_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, text: str, words: str
) -> None:
    monkeypatch.setattr(osm_source, "BARREN_LIMIT", 1_500_000)
    path = tmp_path / "bad.osm"
    path.write_text(text)
    with pytest.raises(WorldError) as caught:
        read_osm(path)
    assert words in str(caught.value)


def test_a_limit_on_nodes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(osm_source, "NODE_LIMIT", 3)
    with pytest.raises(WorldError, match="too many nodes"):
        read_osm(extract(tmp_path, way("highway=path")))


def test_a_pbf_without_the_library_says_what_to_install(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "osmium", None)
    path = tmp_path / "hill.osm.pbf"
    path.write_bytes(b"\0\0\0\x0dOSMHeader")
    with pytest.raises(WorldError, match=r"install loopwright\[maps\]"):
        read_osm(path)


def test_a_pbf(tmp_path: Path) -> None:
    osmium = pytest.importorskip("osmium", reason="an optional library")
    source, path = extract(tmp_path, way("highway=path surface=rock")), tmp_path / "hill.osm.pbf"
    with osmium.SimpleWriter(str(path)) as writer:
        for each in osmium.FileProcessor(str(source)):
            writer.add(each)
    (line,) = read_osm(path).lines
    assert (len(line.line), line.surface) == (3, "rock")
    path.write_bytes(path.read_bytes()[:60])
    with pytest.raises(WorldError, match="no readable OpenStreetMap extract"):
        read_osm(path)


def test_a_large_extract_cut_off_is_refused_before_it_is_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = extract(tmp_path, way("highway=path"))
    with path.open("a") as sink:
        sink.write(" " * CHUNK)
    monkeypatch.setattr(osm_source, "chunks", None)
    with pytest.raises(WorldError, match="breaks off"):
        read_osm(path)
