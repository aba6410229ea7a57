"""The whole job on the invented sample area: rides in, loop card out, laps after."""

from __future__ import annotations

import json
import xml.etree.ElementTree as ET
from pathlib import Path
from typing import Any

import gpxpy
import pypdf
import pytest

from loopwright.cli.main import main
from loopwright.resources import folder

NOW = ["--now", "2027-05-16T08:00:00"]
RIDES = sorted(folder("sample_tracks").glob("ride_*.gpx"))


@pytest.fixture(scope="module")
def area(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An area with rides, ground words and found loops."""
    home = tmp_path_factory.mktemp("job")
    path = home / "park.loopwright"
    assert main(["import", str(path), *map(str, RIDES)]) == 0
    ground = folder("sample_tracks") / "ground.geojson"
    assert main(["tag", str(path), "--line", str(ground), "--on", "2027-05-12"]) == 0
    # Time enough to prove the optimum even where the search has still to be compiled.
    assert main(["find", str(path), "--seconds", "120", "--json", str(home / "a.json"), *NOW]) == 0
    return path


def answer(area: Path) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((area.parent / "a.json").read_text())
    return found


def network(area: Path) -> dict[str, Any]:
    out = area.parent / "network.geojson"
    assert main(["export", str(area), str(out)]) == 0
    value: dict[str, Any] = json.loads(out.read_text())
    return value


def test_the_best_loop_is_proven(area: Path) -> None:
    found = answer(area)
    best = found["loops"][0]
    assert found["proven"] is True
    assert best["score"] <= found["bound"] <= best["score"] + 0.01
    assert 3000 <= best["length_m"] <= 5000
    assert [loop["rank"] for loop in found["loops"]] == list(range(1, len(found["loops"]) + 1))


def test_scores_follow_from_the_exported_network(area: Path) -> None:
    """Recompute every score from the two published files alone."""
    found, net = answer(area), network(area)
    stretches = {
        f["properties"]["id"]: f["properties"]
        for f in net["features"]
        if f["properties"]["role"] == "stretch"
    }
    passages = {(*p["from"], *p["to"]): p for p in net["passages"]}
    mix = found["wishes"]["mix"]
    for loop in found["loops"]:
        arcs = [tuple(arc) for arc in loop["stretches"]]
        sums = dict.fromkeys(mix["targets"], 0.0)
        for arc, after in zip(arcs, [*arcs[1:], arcs[0]], strict=True):
            passage = passages.get((*arc, *after), {"amounts": {}, "allowed": True})
            assert passage["allowed"]
            for amounts in (stretches[arc[0]][f"amounts_{arc[1]}"], passage["amounts"]):
                for kind in sums:
                    sums[kind] += amounts.get(kind, 0.0)
        weights = {kind: mix["weights"].get(kind, 1.0) for kind in sums}
        met = sum(weights[k] * min(1.0, sums[k] / mix["targets"][k]) for k in sums)
        match = met / sum(weights.values())
        length = sum(stretches[s]["length_m"] for s, _ in arcs)
        assert loop["match"] == pytest.approx(match, abs=1e-4)
        assert loop["score"] == pytest.approx(100 * match - 10 * length / 5000, abs=1e-2)
        ends = [_ends(stretches[s], way) for s, way in arcs]
        assert all(a[1] == b[0] for a, b in zip(ends, [*ends[1:], ends[0]], strict=True))
        assert len({s for s, _ in arcs}) == len(arcs)


def _ends(stretch: dict[str, str], way: str) -> tuple[str, str]:
    ends = (stretch["from"], stretch["to"])
    return ends if way == "forward" else ends[::-1]


def test_the_same_search_gives_the_same_bytes(area: Path) -> None:
    again = area.parent / "b.json"
    saved = area.read_bytes()
    assert main(["find", str(area), "--seconds", "120", "--json", str(again), *NOW]) == 0
    assert again.read_bytes() == (area.parent / "a.json").read_bytes()
    assert area.read_bytes() == saved


def test_the_card_is_one_page_with_words_and_the_same_bytes(area: Path) -> None:
    first, second = area.parent / "one.pdf", area.parent / "two.pdf"
    for out in (first, second):
        assert main(["card", str(area), "--loop", "1", "--out", str(out), *NOW]) == 0
    assert first.read_bytes() == second.read_bytes()
    assert first.stat().st_size < 500_000
    reader = pypdf.PdfReader(first)
    assert len(reader.pages) == 1
    words = reader.pages[0].extract_text()
    assert "estimate" in words.lower()
    assert main(["card", str(area), "--loop", "1", "--out", str(area.parent / "one.png")]) == 0


def test_the_loop_file_reads_back(area: Path) -> None:
    out = area.parent / "loop.gpx"
    assert main(["export", str(area), str(out), "--loop", "1"]) == 0
    track = gpxpy.parse(out.read_text()).tracks[0]
    length = track.length_2d()
    assert length == pytest.approx(answer(area)["loops"][0]["length_m"], rel=0.01)
    assert ET.parse(out).getroot().tag == "{http://www.topografix.com/GPX/1/1}gpx"  # noqa: S314 - our own file


def test_a_start_begins_the_loop_there(area: Path) -> None:
    lon, lat, *_ = answer(area)["loops"][-1]["geometry"]["coordinates"][40]
    out = area.parent / "start.json"
    words = ["find", str(area), "--start", f"{lat},{lon}", "--json", str(out), *NOW]
    assert main([*words, "--seconds", "60"]) == 0
    first = json.loads(out.read_text())["loops"][0]["geometry"]["coordinates"][0]
    assert first[:2] == pytest.approx([lon, lat], abs=4e-4)


def test_no_loop_in_that_window_is_an_honest_no(
    area: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["find", str(area), "--length", "0.01-0.02"]) == 1
    assert "no loop of 0.01 to 0.02 km exists" in capsys.readouterr().err


def test_a_start_in_the_sea_is_refused(area: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["find", str(area), "--start", "10,10"]) == 1
    assert "no trail within" in capsys.readouterr().err


def test_laps_of_a_kept_ride(area: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Six laps were ridden round the training lap; a loop elsewhere has none of them."""
    ride = folder("sample_tracks") / "six_laps.gpx"
    code = main(["laps", str(area), str(ride), "--loop", "1", "--json", "-"])
    said = capsys.readouterr()
    assert code in {0, 1}
    assert json.loads(said.out)["schema"] == 1


def test_without_a_loop_the_circuit_of_the_ride_is_found(
    area: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The invented ride has six laps of 4 to 5 km; what comes before the first joins it."""
    ride = folder("sample_tracks") / "six_laps.gpx"
    assert main(["laps", str(area), str(ride), "--json", "-"]) == 0
    laps = [lap for lap in json.loads(capsys.readouterr().out)["laps"] if lap["complete"]]
    assert len(laps) == 6
    assert all(4000 < lap["length_m"] < 5000 for lap in laps)
    assert all(960 < lap["elapsed_s"] < 1055 for lap in laps)


def test_check_finds_everything_in_place(area: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(area)]) == 0
    said = capsys.readouterr().out
    assert "everything finds its place" in said
    assert "have no word about the ground" in said


def test_season_and_calendar(area: Path) -> None:
    out = area.parent / "season.json"
    words = ["season", str(area), "--race", "2027-08-08", "--weeks", "12", "--json", str(out)]
    assert main([*words, *NOW]) == 0
    assert json.loads(out.read_text())
    assert main(["export", str(area), str(area.parent / "season.ics"), *NOW]) == 0
    assert b"BEGIN:VCALENDAR" in (area.parent / "season.ics").read_bytes()
    assert main(["export", str(area), str(area.parent / "season.pdf"), *NOW]) == 0
    assert "Season" in pypdf.PdfReader(area.parent / "season.pdf").pages[0].extract_text()
