"""GeoJSON, cue sheets, calendars and answers in JSON."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import icalendar
import numpy as np
import pytest
import vobject

from io_help import NAN, course, season, terrain, wishes
from loopwright.geo.frame import geodesic_length_m, to_degrees
from loopwright.io.calendar import season_calendar
from loopwright.io.cue_sheet import cue_csv, cue_text, harmless, words_for
from loopwright.io.geojson import loop_geojson, network_geojson
from loopwright.io.json_file import json_bytes
from loopwright.io.laps_json import laps_json, moment
from loopwright.io.loops_json import LoopEntry, loops_json
from loopwright.io.season_json import season_json
from loopwright.model.document import PrivateCircle
from loopwright.model.ground import GroundSpan
from loopwright.model.ids import RideId, StretchId, Way
from loopwright.model.laps import Lap, LapSheet, Split
from loopwright.model.loops import FoundLoop, SearchResult
from loopwright.model.season import DayLabel, Race, SeasonWishes
from loopwright.season import plan_season

NOW = datetime(2027, 4, 1, 6, tzinfo=UTC)


def by_role(value: dict[str, object]) -> dict[str, list[dict[str, object]]]:
    roles: dict[str, list[dict[str, object]]] = {}
    for feature in json.loads(json_bytes(value))["features"]:
        roles.setdefault(feature["properties"]["role"], []).append(feature)
    return roles


def test_a_network_has_the_published_shape() -> None:
    roles = by_role(network_geojson(terrain()))
    assert {role: len(found) for role, found in roles.items()} == {
        "stretch": 2, "junction": 2, "feature": 2,
    }  # fmt: skip
    first = roles["stretch"][0]["properties"]
    assert isinstance(first, dict)
    assert {
        "id", "from", "to", "length_m", "ascent_m", "descent_m", "passes", "ways", "surface",
        "roughness", "width", "banked", "std_error_m", "amounts_forward", "amounts_backward",
    } <= set(first)  # fmt: skip
    assert (first["surface"], first["roughness"], first["width"]) == ("rock", "bad", "narrow")
    assert (first["ascent_m"], first["descent_m"], first["passes"]) == (10.0, 0.5, 1)
    assert roles["junction"][0]["properties"] == {"role": "junction", "id": "a", "degree": 2}


def test_features_stand_where_they_are() -> None:
    climb, corner = by_role(network_geojson(terrain()))["feature"]
    assert climb["geometry"]["type"] == "LineString"  # type: ignore[index]
    cells = np.array(climb["geometry"]["coordinates"])  # type: ignore[index]
    assert geodesic_length_m(cells[:, 1], cells[:, 0]) == pytest.approx(100.0, abs=0.05)
    assert cells[:, 2].tolist() == [502.5, 505.0, 507.5]
    lat, lon = to_degrees(terrain().network.origin, np.array([[100.0, 80.0]]))
    assert corner["geometry"]["type"] == "Point"  # type: ignore[index]
    place = corner["geometry"]["coordinates"]  # type: ignore[index]
    np.testing.assert_allclose(place[:2], [lon[0], lat[0]], atol=1e-6)
    assert corner["properties"]["turn_deg"] == 77.0  # type: ignore[index]


def test_passages_are_listed_beside() -> None:
    value = network_geojson(terrain(), attributions=("© somebody",), invented=True)
    passages = json.loads(json_bytes(value))["passages"]
    assert passages[0] == {
        "from": ["s1", "forward"], "to": ["s2", "backward"], "amounts": {}, "allowed": False,
    }  # fmt: skip
    assert passages[1]["amounts"] == {"corners": 1.0}
    assert (value["schema"], value["invented"]) == (1, True)


def test_the_word_with_the_most_metres_names_a_stretch() -> None:
    whole = terrain()
    spans = (
        GroundSpan(from_m=0, to_m=40, surface="mud", banked=True),
        GroundSpan(from_m=40, to_m=100, surface="rock"),
        GroundSpan(from_m=100, to_m=200, surface="mud", banked=True),
    )
    tagged = replace(whole, spans={StretchId("s1"): spans})
    first = by_role(network_geojson(tagged))["stretch"][0]["properties"]
    assert (first["surface"], first["banked"]) == ("mud", True)  # type: ignore[index]


def test_a_private_circle_hides_what_lies_in_it() -> None:
    circle = PrivateCircle(lat=46.5, lon=13.2, radius_m=60.0)
    roles = by_role(network_geojson(terrain(), private=circle))
    assert [each["properties"]["id"] for each in roles["junction"]] == ["b"]  # type: ignore[index]
    assert all(each["properties"]["trimmed"] for each in roles["stretch"])  # type: ignore[index]
    hidden = network_geojson(terrain(), private=replace(circle, radius_m=1000.0))
    assert (hidden["features"], hidden["passages"]) == ([], [])


def test_a_loop_has_its_features_and_numbers() -> None:
    roles = by_role(loop_geojson(course(), properties={"score": 71.5}))
    lap = roles["loop"][0]["properties"]
    assert lap["score"] == 71.5  # type: ignore[index]
    assert lap["stretches"] == [["s1", "forward"], ["s2", "backward"]]  # type: ignore[index]
    assert [each["properties"]["number"] for each in roles["feature"]] == [1, 2, 3]  # type: ignore[index]


def test_a_loop_through_the_private_circle_falls_into_parts() -> None:
    lat, lon = to_degrees(course().origin, course().xy[10:11])
    circle = PrivateCircle(lat=float(lat[0]), lon=float(lon[0]), radius_m=40.0)
    lap = by_role(loop_geojson(course(), private=circle))["loop"][0]
    assert lap["geometry"]["type"] == "MultiLineString"  # type: ignore[index]
    gone = by_role(loop_geojson(course(), private=replace(circle, radius_m=900.0)))
    assert gone["loop"][0]["geometry"] is None
    assert "feature" not in gone


def test_found_loops_have_the_published_shape() -> None:
    found = FoundLoop(
        rank=1, arcs=((StretchId("s1"), Way.FORWARD),), score=70.1234567, match=0.8,
        length_m=628.0, ascent_m=20.0, amounts={"corners": 2.0, "climb_gain_m": 6.0},
    )  # fmt: skip
    line = np.array([[13.2, 46.5, 500.0], [13.21, 46.5, NAN], [13.2, 46.5, 500.0]])
    entry = LoopEntry(found=found, name="Loop 1", line=line, density_per_km=4.8, inside_share=0.3)
    result = SearchResult(
        loops=(found,), bound=70.12345671, proven=True, seconds=0.5, most={"corners": 4.0}
    )
    value = json.loads(json_bytes(loops_json(result, [entry], wishes())))
    assert {"schema", "wishes", "bound", "proven", "seconds", "loops"} <= set(value)
    assert value["bound"] >= result.bound
    (loop,) = value["loops"]
    assert {
        "rank", "name", "score", "match", "length_m", "ascent_m", "density_per_km",
        "inside_share", "lap_time_s", "amounts", "stretches", "geometry",
    } <= set(loop)  # fmt: skip
    assert loop["stretches"] == [["s1", "forward"]]
    assert loop["geometry"]["coordinates"][1] == [13.21, 46.5]
    private = PrivateCircle(lat=46.5, lon=13.2, radius_m=9000.0)
    (hidden,) = json.loads(json_bytes(loops_json(result, [entry], wishes(), private=private)))[
        "loops"
    ]
    assert hidden["geometry"] is None


def sheet(best: float | None = 61.25) -> LapSheet:
    split = Split(
        number=1, name="climb", from_m=40, to_m=120, elapsed_s=12.3456, moving_s=12, std_error_s=0.3
    )
    laps = tuple(
        Lap(
            number=number, way=Way.FORWARD, start_s=1.7e9 + 0.1234, elapsed_s=elapsed,
            moving_s=elapsed, length_m=628.0, complete=number < 3, splits=(split,),
        )
        for number, elapsed in ((1, 65.0), (2, 61.25), (3, 20.0))
    )  # fmt: skip
    return LapSheet(
        ride=RideId("r"), loop="Larch loop", laps=laps if best else (), best_s=best, median_s=63.1,
        fade_per_lap_s=-3.75, spread_s=NAN, ground_m={"rock": 40.0},
    )  # fmt: skip


def test_laps_have_the_published_shape() -> None:
    value = json.loads(json_bytes(laps_json(sheet())))
    assert (value["best"], value["best_lap"], value["spread_s"]) == (61.25, 2, None)
    assert [lap["number"] for lap in value["laps"]] == [1, 2, 3]
    first = value["laps"][0]
    assert first["start"] == "2023-11-14T22:13:20.123Z"
    assert first["splits"][0]["elapsed_s"] == 12.346
    assert first["splits"][0]["target_s"] is None
    empty = laps_json(sheet(None))
    assert (empty["best"], empty["best_lap"]) == (None, None)


@pytest.mark.parametrize("seconds", [NAN, float("inf"), 1e20])
def test_a_moment_that_is_none(seconds: float) -> None:
    assert moment(seconds) is None


def test_the_season_as_json() -> None:
    value = json.loads(json_bytes(season_json(season())))
    assert [session["on"] for session in value["sessions"]] == ["2027-05-04", "2027-05-05"]
    assert value["wishes"]["races"][0]["on"] == "2027-05-09"


def events(data: bytes) -> list[icalendar.cal.Component]:
    return list(icalendar.Calendar.from_ical(data).walk("VEVENT"))


def test_the_calendar_has_one_entry_a_session_and_race() -> None:
    found = events(season_calendar(season(), name="Hill", now=NOW))
    assert [event.decoded("dtstart") for event in found] == [
        date(2027, 5, 4), date(2027, 5, 5), date(2027, 5, 9),
    ]  # fmt: skip
    assert str(found[0]["summary"]) == "Training: cornering"
    assert str(found[1]["summary"]) == "Recovery: easy spin"
    assert "4 laps, rest 6 min between" in str(found[0]["description"])
    assert all(event.decoded("dtstamp") == NOW for event in found)


def test_calendar_lines_keep_to_the_standard() -> None:
    """RFC 5545, 3.1: CRLF, lines of at most 75 octets; 3.6.1: UID and DTSTAMP once an entry."""
    data = season_calendar(season(), name="Hügel " * 40, now=NOW)
    lines = data.split(b"\r\n")
    assert all(len(line) <= 75 and b"\n" not in line for line in lines)
    assert lines[0] == b"BEGIN:VCALENDAR"
    assert data.count(b"\r\nUID:") == data.count(b"\r\nDTSTAMP:") == data.count(b"BEGIN:VEVENT")


def test_identifiers_stay_and_are_different() -> None:
    first = [str(event["uid"]) for event in events(season_calendar(season(), name="A", now=NOW))]
    later = season_calendar(season(), name="A", now=NOW.replace(hour=9))
    assert [str(event["uid"]) for event in events(later)] == first
    other = [str(event["uid"]) for event in events(season_calendar(season(), name="B", now=NOW))]
    assert len({*first, *other}) == 6
    twice = replace(season(), sessions=season().sessions * 2)
    assert (
        len({str(event["uid"]) for event in events(season_calendar(twice, name="A", now=NOW))}) == 5
    )


def test_importing_again_replaces_entries() -> None:
    """RFC 5545, 3.8.7.4: a revision with a higher SEQUENCE supersedes the one of the same UID."""
    first = events(season_calendar(season(), name="A", now=NOW))
    changed = replace(
        season(),
        wishes=replace(
            season().wishes, races=(replace(season().wishes.races[0], name="Other cup"),)
        ),
        sessions=tuple(replace(s, kind="skills hour") for s in season().sessions),
    )
    later = events(season_calendar(changed, name="A", now=NOW + timedelta(minutes=1)))
    assert [str(e["uid"]) for e in later] == [str(e["uid"]) for e in first]
    revisions = [[int(str(e["sequence"])) for e in found] for found in (first, later)]
    assert all(a < b for a, b in zip(*revisions, strict=True))
    assert all(e.decoded("last-modified") == NOW for e in first)


def test_an_independent_parser_reads_a_twelve_week_season() -> None:
    """PyPI vobject shares no code with the library that writes the calendar."""
    race = Race(name="Cup; with, signs\\ and åccents", on=date(2027, 6, 23))
    plan = plan_season(SeasonWishes(races=(race,), weeks=12), date(2027, 4, 1))
    data = season_calendar(plan, name="Hügel", now=NOW).decode()
    (calendar,) = vobject.readComponents(data, validate=True)
    assert calendar.version.value == "2.0"
    entries = calendar.contents["vevent"]
    assert len(entries) == len(plan.sessions) == 84
    found = {entry.dtstart.value: entry for entry in entries}
    for session in plan.sessions:
        entry = found[session.on]
        assert entry.dtend.value - entry.dtstart.value == timedelta(days=1)
        if session.kind:
            assert entry.summary.value.endswith(session.kind)
    assert found[race.on].summary.value == f"Race: {race.name}"
    assert len({entry.uid.value for entry in entries}) == 84


def test_the_same_plan_makes_the_same_calendar() -> None:
    assert season_calendar(season(), name="A", now=NOW) == season_calendar(
        season(), name="A", now=NOW.replace(tzinfo=None)
    )


def test_a_rest_day_is_called_by_its_label() -> None:
    rest = replace(season().sessions[1], kind="")
    data = season_calendar(replace(season(), sessions=(rest,)), name="A", now=NOW)
    assert str(events(data)[0]["summary"]) == "Recovery"


def test_open_days_are_left_out() -> None:
    plan = season()
    opened = replace(plan, sessions=(replace(plan.sessions[0], label=DayLabel.OPEN),))
    assert len(events(season_calendar(opened, name="A", now=NOW))) == 1


@pytest.mark.parametrize("cell", ["=1+1", "+1", "-1", "@a", "\t=1", "\r=1", " =1", "\n@x"])
def test_cells_that_look_like_formulas_are_made_harmless(cell: str) -> None:
    assert harmless(cell).startswith("'")


def test_other_cells_stay_as_they_are() -> None:
    assert harmless("climb, 80 m") == "climb, 80 m"


def test_the_cue_sheet_as_a_table() -> None:
    rows = list(csv.DictReader(io.StringIO(cue_csv(course()))))
    assert [row["number"] for row in rows] == ["1", "2", "3"]
    assert rows[2]["words"] == "tight corner right, 130 degrees, radius 5 m"
    assert cue_csv(course()).count("\r\n") == 4


def test_the_cue_sheet_as_text() -> None:
    text = cue_text(replace(course(), name="=evil\nname"), invented=True)
    lines = text.splitlines()
    assert lines[:3] == [
        "=evil name",
        "0.63 km, 20 m up (rises of 0.5 m or more)",
        "Invented ground: not a real place.",
    ]
    assert "walk it first" in lines[-1]
    assert any(line.startswith("  1      60 m  climb, 80 m, 6 m at 8 %") for line in lines)


def test_cues_in_the_private_circle_are_left_out() -> None:
    everywhere = PrivateCircle(lat=46.5, lon=13.2, radius_m=5000.0)
    assert cue_csv(course(), private=everywhere).count("\r\n") == 1
    bare = replace(course(), features=())
    assert cue_csv(bare).count("\r\n") == 1


def test_a_straight_is_said_by_its_length() -> None:
    feature = replace(course().features[0], gain_m=0.0)
    assert words_for(feature) == "climb, 80 m"
