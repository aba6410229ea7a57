"""The shipped sample files are what ``sample_tracks/make.py`` makes, and say they are invented."""

from __future__ import annotations

import importlib.util
import json
import sys
from collections import Counter
from itertools import pairwise
from pathlib import Path
from types import ModuleType

import gpxpy
import numpy as np
import pytest
from lxml import etree

from gpx_schemas import gpx_schema
from loopwright.geo.frame import to_local
from loopwright.geo.polyline import length_m
from loopwright.invented.circuits import circuits
from loopwright.invented.descents import longest_descent
from loopwright.invented.draft import Kind
from loopwright.invented.island import race_course, sample_park, training_lap
from loopwright.invented.park import Park
from loopwright.invented.riders import lay_out
from loopwright.model.ground import ROUGHNESSES, SURFACES, WIDTHS, FeatureKind
from loopwright.model.ids import Way
from loopwright.resources import folder

RIDES = tuple(sorted(folder("sample_tracks").glob("*.gpx")))


@pytest.fixture(scope="module")
def make() -> ModuleType:
    spec = importlib.util.spec_from_file_location("make", folder("sample_tracks") / "make.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["make"] = module
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def park() -> Park:
    return sample_park()


def test_remaking_gives_identical_bytes(make: ModuleType) -> None:
    for name, text in make.files():
        kept = (folder("sample_tracks") / name).read_bytes()
        assert kept == text.encode("utf-8"), name


def test_all_of_it_is_small() -> None:
    total = sum(path.stat().st_size for path in folder("sample_tracks").glob("*"))
    assert total < 6_000_000
    assert len(RIDES) >= 14


@pytest.mark.parametrize("path", RIDES, ids=lambda path: path.stem)
def test_every_ride_reads_and_says_it_is_invented(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    gpx = gpxpy.parse(text)
    assert "Invented" in (gpx.description or "")
    points = [p for t in gpx.tracks for s in t.segments for p in s.points]
    times = [p.time.timestamp() for p in points if p.time]
    assert len(times) == len(points) > 300
    assert all(a < b for a, b in pairwise(times))
    assert gpx.version == ("1.0" if path.stem == "ride_03" else "1.1")


@pytest.mark.parametrize("path", RIDES, ids=lambda path: path.stem)
def test_rides_are_valid_by_their_schema(path: Path) -> None:
    # GPX 1.0 and 1.1: the published schemas.
    document = etree.parse(path)
    gpx_schema(document.getroot().get("version", "")).assertValid(document)


def test_the_park_is_a_good_place_to_ride(park: Park) -> None:
    network = park.network
    kinds = Counter(park.kinds.values())
    features = Counter(f.kind for f in park.features)
    assert len(network.stretches) >= 40
    assert sum(length_m(s.xy) for s in network.stretches) >= 25_000
    assert kinds[Kind.BRIDGE] >= 1
    assert kinds[Kind.ROAD] >= 1
    assert kinds[Kind.B_LINE] >= 3
    assert kinds[Kind.HAIRPIN] >= 3
    assert features[FeatureKind.STEEP_CLIMB] >= 5
    assert len({s.name for s in network.stretches}) == len(network.stretches)


def test_every_surface_is_there(park: Park) -> None:
    laid = {span.surface for spans in park.spans.values() for span in spans}
    assert laid == set(SURFACES) - {"unknown"}


def test_the_rough_descent_is_long_rough_and_falls(park: Park) -> None:
    chain = longest_descent(park.network)
    named = {s.id: s for s in park.network.stretches}
    assert sum(length_m(named[name].xy) for name, _ in chain) > 1500.0
    assert all(span.rough for name, _ in chain for span in park.spans[name])
    _, ele, _ = lay_out(park.network, chain)
    assert ele[0] - ele[-1] > 60.0
    assert all(
        bool(named[name].ele_m[0] > named[name].ele_m[-1]) is (way is Way.FORWARD)
        for name, way in chain
    )


def test_the_laps_close_and_have_the_right_length(park: Park) -> None:
    course = race_course()
    for place, lap in ((park, training_lap(park)), (course.park, course.lap)):
        line, _, gates = lay_out(place.network, lap)
        assert np.hypot(*(line[0] - line[-1])) < 1e-6
        assert 4000.0 <= gates[-1] <= 5200.0
        assert len({name for name, _ in lap}) == len(lap)


def test_circuits_stay_in_their_window(park: Park) -> None:
    start = park.network.junctions[0].id
    found = list(circuits(park.network, start=start, length_m=(2000.0, 4000.0), most=50))
    assert found
    assert len(set(found)) == len(found)
    for walk in found:
        assert 2000.0 <= lay_out(park.network, walk)[2][-1] <= 4000.0


def test_a_search_for_circuits_is_given_up_when_asked_to(park: Park) -> None:
    start = park.network.junctions[0].id
    window = (2000.0, 4000.0)
    all_of_them = list(circuits(park.network, start=start, length_m=window, most=1000))
    some = list(circuits(park.network, start=start, length_m=window, most=1000, looks=40))
    assert 0 < len(some) < len(all_of_them)
    assert some == all_of_them[: len(some)]


def test_the_painted_ground_lies_on_the_trails_and_leaves_some_out(park: Park) -> None:
    painted = json.loads((folder("sample_tracks") / "ground.geojson").read_text(encoding="utf-8"))
    names = {feature["properties"]["name"] for feature in painted["features"]}
    assert 0.7 * len(park.network.stretches) < len(names) < len(park.network.stretches)
    named = {s.name: s for s in park.network.stretches}
    for feature in painted["features"]:
        words, line = feature["properties"], np.array(feature["geometry"]["coordinates"])
        assert words["surface"] in SURFACES
        assert words["roughness"] in ROUGHNESSES
        assert words["width"] in WIDTHS
        xy = to_local(park.network.origin, line[:, 1], line[:, 0])
        gaps = np.hypot(*(xy[:, None] - named[words["name"]].xy[None]).transpose(2, 0, 1))
        assert gaps.min(axis=1).max() < 1.0


def test_the_race_is_elsewhere(park: Park) -> None:
    there = race_course().park.network.origin
    here = to_local(park.network.origin, np.array([there.lat]), np.array([there.lon]))
    assert np.hypot(*here[0]) > 4000.0
