"""What is owed to a map extract goes with every file that carries its words or ways."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import gpxpy
import numpy as np
import pypdf
import pytest
from lxml import etree

from app_help import PIPELINE, ladder_document
from gpx_schemas import gpx_schema
from loopwright.borrow import given_back, with_words
from loopwright.card import card_pages
from loopwright.cards import card_input
from loopwright.cli.main import main
from loopwright.edits import set_found
from loopwright.geo.frame import to_degrees
from loopwright.io.area_file import load_area, save_area
from loopwright.io.osm import ATTRIBUTION, MapExtract, MapLine
from loopwright.model.document import Document
from loopwright.model.picture import Text

LOOP = ("--loop", "1")


def borrowed() -> Document:
    """The invented ladder with one ground word out of a map extract, and its best loops."""
    document = ladder_document()
    network = PIPELINE.network(document)
    lat, lon = to_degrees(network.origin, network.stretches[0].xy)
    line = np.column_stack((lon, lat))
    way = MapLine(line=line, surface="gravel", roughness=None, width=None, name="", one_way=False)
    document = with_words(document, MapExtract(lines=(way,)))
    assert document.wishes is not None
    _, loops = PIPELINE.search(document, document.wishes)
    return set_found(document, loops)


@pytest.fixture(scope="module")
def area(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("owed") / "ladder.loopwright"
    save_area(borrowed(), path)
    return path


def written(area: Path, name: str, *words: str) -> Path:
    out = area.parent / name
    assert main(["export", str(area), str(out), *words]) == 0
    return out


def test_geojson_names_whom_it_owes(area: Path) -> None:
    for name, words in (("net.geojson", ()), ("loop.geojson", LOOP)):
        value = json.loads(written(area, name, *words).read_text())
        assert value["attributions"] == [ATTRIBUTION]


def test_gpx_names_whom_it_owes_and_fits_its_rules(area: Path) -> None:
    """GPX 1.1 schema: metadata holds desc, then copyright with its author."""
    data = written(area, "loop.gpx", *LOOP).read_bytes()
    gpx_schema("1.1").assertValid(etree.fromstring(data))
    gpx = gpxpy.parse(data)
    assert ATTRIBUTION in str(gpx.description)
    assert gpx.copyright_author == ATTRIBUTION


def test_cue_sheets_name_whom_they_owe(area: Path) -> None:
    assert ATTRIBUTION in written(area, "loop.txt", *LOOP).read_text().splitlines()
    rows = list(csv.DictReader(written(area, "loop.csv", *LOOP).read_text().splitlines()))
    assert [r["words"] for r in rows if r["kind"] == "source"] == [ATTRIBUTION]
    assert all(r["number"] for r in rows if r["kind"] != "source")


def test_answers_in_json_name_whom_they_owe(area: Path) -> None:
    out = area.parent / "answer.json"
    words = ["--length", "0.4-1.2", "--mix", "cornering", "--json", str(out)]
    assert main(["find", str(area), *words]) == 0
    assert json.loads(out.read_text())["attributions"] == [ATTRIBUTION]
    ride = load_area(area).rides[0].track.source
    assert main(["laps", str(area), ride, *LOOP, "--json", str(out)]) in {0, 1}
    assert json.loads(out.read_text())["attributions"] == [ATTRIBUTION]


@pytest.mark.parametrize("paper", ["A4", "A5", "strip"])
def test_cards_name_whom_they_owe(area: Path, paper: str) -> None:
    out = area.parent / f"{paper}.pdf"
    assert main(["card", str(area), *LOOP, "--paper", paper, "--out", str(out)]) == 0
    words = " ".join(page.extract_text() for page in pypdf.PdfReader(out).pages)
    assert ATTRIBUTION in " ".join(words.split())


def test_a_picture_of_the_card_is_painted_from_the_same_words(area: Path) -> None:
    document = load_area(area)
    pages = card_pages(card_input(PIPELINE, document, document.found[0]))
    words = " ".join(m.words for page in pages for m in page.marks if isinstance(m, Text))
    assert ATTRIBUTION in words


def test_an_area_that_gave_all_back_names_nobody(area: Path) -> None:
    bare = area.parent / "bare.loopwright"
    save_area(given_back(load_area(area), ATTRIBUTION), bare)
    for name in ("bare.gpx", "bare.csv", "bare.txt", "bare.geojson"):
        out = area.parent / name
        assert main(["export", str(bare), str(out), *LOOP]) == 0
        assert "OpenStreetMap" not in out.read_text()
