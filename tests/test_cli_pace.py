"""``rider`` and ``pace``: who rides, what a lap asks, and odd numbers told in one line."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pypdf
import pytest

from loopwright.cli.main import main
from loopwright.edits import add_rides, keep_loop
from loopwright.features import assess
from loopwright.invented.circuits import richest
from loopwright.invented.island import _busiest
from loopwright.invented.park import make_park
from loopwright.invented.riders import ride_arcs
from loopwright.io.area_file import load_area, save_area
from loopwright.loops.mixes import built_in_mixes
from loopwright.model.document import Document
from loopwright.model.loops import SavedLoop
from loopwright.model.wishes import Wishes
from loopwright.places import lap_line
from network_help import as_rides

LOOP = ["--loop", "lap"]


@pytest.fixture(scope="module")
def area(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One lap of a park ridden three times, kept."""
    path = tmp_path_factory.mktemp("pace") / "park.loopwright"
    park = make_park(2)
    start = _busiest(park.network)
    lap = richest(park.network, park.features, start=start, length_m=(1000.0, 2000.0))
    tracks = [ride_arcs(park, lap, error_m=1.0, seed=k, laps=2).track for k in range(3)]
    loop = SavedLoop(
        name="", line=lap_line(assess(park.network), lap), score=0.0, match=0.0,
        wishes=Wishes(mix=built_in_mixes()[0]),
    )  # fmt: skip
    document = add_rides(Document(name="park"), as_rides(tracks), park.network.origin)
    save_area(keep_loop(document, loop, name="lap"), path)
    return path


def answer(*words: str, capsys: pytest.CaptureFixture[str]) -> Any:
    assert main([*words, "--json", "-"]) == 0
    return json.loads(capsys.readouterr().out)


def test_splits_tile_the_lap_and_limits_stand_below(
    area: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    plan = answer("pace", str(area), *LOOP, capsys=capsys)
    splits = plan["splits"]
    assert sum(one["time_s"] for one in splits) == pytest.approx(plan["lap_time_s"], abs=0.05)
    assert all(one["low_s"] <= one["time_s"] <= one["high_s"] for one in splits)
    assert plan["what_if"]["bike_s"] > 0
    assert main(["pace", str(area), *LOOP, "--units", "imperial"]) == 0
    said = capsys.readouterr().out
    for limit in ("no wind", "no drafting", "no tiredness beyond W'", "not a promise", "kg at the"):
        assert limit in said


def test_two_efforts_bring_watts_and_a_range_of_the_reserve(
    area: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    efforts = ["--all-out", "180:361.1", "--all-out", "720:277.8"]
    told = answer("rider", str(area), *efforts, "--heart", "188", capsys=capsys)
    assert told["rider"]["all_out_w"] == [[180.0, 361.1], [720.0, 277.8]]
    plan = answer("pace", str(area), *LOOP, "--laps", "3", capsys=capsys)
    low, high = plan["w_balance_low_j"]
    assert low < high
    climbs = [one for one in plan["splits"] if "climb" in one["name"]]
    assert all(one["power_w"] and one["torque_nm"] and one["gear"] for one in climbs)
    main(["rider", str(area)])
    # P = CP + W'/t: 250 W and 20 kJ, computed by hand.
    assert "critical power 250 W, W' 20.0 kJ" in capsys.readouterr().out
    main(["pace", str(area), *LOOP, "--laps", "3"])
    assert "W' falls to between" in capsys.readouterr().out
    assert load_area(area).rider.max_heart_rate_bpm == 188.0
    assert main(["rider", str(area), "--forget-power"]) == 0
    assert "times and perceived effort only" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--all-out", "180:300", "--all-out", "180:320"], "of different length"),
        (["--all-out", "180:300"], "of different length"),
        (["--all-out", "180:250", "--all-out", "720:300"], "do not fit together"),
        (["--all-out", "180:500", "--all-out", "720:100"], "do not fit together"),
        (["--all-out", "three minutes"], "write seconds and mean watts"),
        (["--power", "0"], "--power"),
        (["--power", "-250"], "--power"),
        (["--mass", "nan"], "--mass"),
        (["--sprockets", "10,x"], "--sprockets"),
    ],
)
def test_nonsense_is_one_line_and_nothing_is_kept(
    area: Path, words: list[str], told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    before = area.read_bytes()
    assert main(["rider", str(area), *words]) == 2
    said = capsys.readouterr().err
    assert told in said
    assert said.count("\n") == 1
    assert area.read_bytes() == before


@pytest.mark.parametrize("words", [["--laps", "0"], ["--bike-kg", "nan"], ["--wheel-kg", "900"]])
def test_odd_wishes_of_a_plan_are_refused(
    area: Path, words: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["pace", str(area), *LOOP, *words]) == 2
    assert capsys.readouterr().err.count("\n") == 1


NOW = ["--now", "2030-03-06T08:00:00"]


def test_a_card_takes_its_session_from_the_season(
    area: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    season = answer("season", str(area), "--race", "2030-04-14", *NOW, capsys=capsys)
    easy = next(one for one in season["sessions"] if one["minutes"] > 0 and one["laps"] == 0)
    out = tmp_path / "card.pdf"
    words = ["card", str(area), *LOOP, "--out", str(out), *NOW]
    assert main([*words, "--session", easy["on"]]) == 0
    assert easy["label"] in pypdf.PdfReader(out).pages[0].extract_text().lower()
    capsys.readouterr()
    for more, code in ((["2031-01-01"], 1), (["soon"], 2), ([easy["on"], "--laps", "3"], 2)):
        assert main([*words, "--session", *more]) == code
        assert capsys.readouterr().err.count("\n") == 1
