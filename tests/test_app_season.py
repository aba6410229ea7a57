"""The Season place: ground of race day, heavier bike, wishes, load, paper."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest
from icalendar import Calendar
from pypdf import PdfReader
from PySide6.QtCore import QDate
from pytestqt.qtbot import QtBot

from app_help import Answers, found, ladder_document, rested, wait_until, window_on
from loopwright import edits
from loopwright.app.card_dialog import CardDialog
from loopwright.app.opening import Opened
from loopwright.app.season_doings import known_ground
from loopwright.app.season_ground import gap_words
from loopwright.app.season_heavy import note_heavy
from loopwright.app.season_ridden import rode_on
from loopwright.app.season_rows import load_words
from loopwright.io.area_file import load_area, save_area
from loopwright.io.tracks import ride_id
from loopwright.model.document import Document
from loopwright.model.ground import Tag
from loopwright.model.picture import Text
from loopwright.model.season import (
    DayLabel,
    GroundMet,
    Race,
    SeasonPlan,
    SeasonWishes,
    Session,
)
from loopwright.model.track import Ride, RideRole
from loopwright.reading import take_in
from loopwright.season import ground_ledger, plan_season, rate, relabel
from loopwright.units import Units
from worlds import lap_rides, square

FIRST, RACE = date(2031, 3, 3), date(2031, 5, 25)
WISHES = SeasonWishes(races=(Race(name="Invented Cup", on=RACE),))


def planned(wishes: SeasonWishes = WISHES) -> SeasonPlan:
    return plan_season(wishes, FIRST)


def in_season(opened: Opened, qtbot: QtBot) -> SeasonPlan:
    wait_until(qtbot, lambda: found(opened))
    place = opened.window.season
    place.today = place.form._today = lambda: FIRST
    opened.desk.apply("plan", lambda d: edits.set_season(d, planned()))
    opened.window.go("season")
    return season(opened)


def season(opened: Opened) -> SeasonPlan:
    plan = opened.desk.document.season
    assert plan is not None
    return plan


def test_ground_by_hand_names_its_gap_and_offers_a_loop(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        in_season(opened, qtbot)
        ground = opened.window.season.ground
        ground.surface.setCurrentIndex(ground.surface.findData("rock"))
        ground.length.setValue(400)
        ground.enter.click()
        assert dict(season(opened).wishes.races[-1].ground_m) == {"rock": 400.0}
        assert "No timed ride of this season yet" in ground.gaps.text()
        ground.since.setDate(QDate(2020, 1, 1))
        ground.since.editingFinished.emit()
        wait_until(qtbot, lambda: ground.met.rides > 0)
        assert "whether these are met: rock" in ground.gaps.text()
        assert "not tagged yet" in ground.untagged.text()
        ground.length.setValue(0)
        ground.enter.click()
        assert dict(season(opened).wishes.races[-1].ground_m) == {}
        ground.offer.click()
        assert opened.desk.wishes.mix.name == "every surface"
        assert opened.window.place == "loops"
        wait_until(qtbot, lambda: rested(opened))


def test_feet_of_race_ground_are_kept_as_metres(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        in_season(opened, qtbot)
        window = opened.window
        window.dress(replace(window.look, units=Units.IMPERIAL))
        ground = window.season.ground
        assert ground.length.suffix() == " ft"
        ground.surface.setCurrentIndex(ground.surface.findData("rock"))
        ground.length.setValue(1000)
        ground.enter.click()
        # The international foot is 0.3048 m by definition.
        assert season(opened).wishes.races[-1].ground_m["rock"] == pytest.approx(304.8)
        assert ground.length.value() == 1000


def test_gaps_are_named_once_something_ridden_is_tagged() -> None:
    grass = {"grass": 900.0, "unknown": 50.0}
    some = ground_ledger(GroundMet(time_s=grass, length_m=grass), {"rock": 300.0, "grass": 300.0})
    assert gap_words(some).startswith("Met too seldom: rock.")
    bare = {"unknown": 900.0}
    none = ground_ledger(GroundMet(time_s=bare, length_m=bare), {"rock": 300.0})
    assert "too seldom" not in gap_words(none)


def test_a_measured_race_lap_leaves_untagged_ground_out() -> None:
    amounts = {"ground_m:rock": 90.0, "ground_m:unknown": 800.0, "corners": 4.0, "ground_m:mud": 0}
    assert known_ground(amounts) == {"rock": 90.0}


def test_a_race_lap_is_measured_as_far_as_it_is_tagged(qtbot: QtBot) -> None:
    (track,) = lap_rides(square(), rides=1, laps=3)
    lap = Ride(id=ride_id(track), track=track, role=RideRole.RACE)
    document = take_in(ladder_document(), [lap])[0]
    with window_on(document, answers=Answers(choice=0)) as opened:
        in_season(opened, qtbot)
        opened.window.season.ground.measure.click()
        wait_until(qtbot, lambda: "set it by hand" in opened.desk.trouble)
        assert dict(season(opened).wishes.races[-1].ground_m) == {}
        tag = Tag(line=np.column_stack((track.lon, track.lat)), surface="rock")
        opened.desk.apply("tag", lambda d: replace(d, tags=(*d.tags, tag)))
        opened.window.do("race_ground")
        wait_until(qtbot, lambda: bool(season(opened).wishes.races[-1].ground_m))
        # The square is 4 x 180 m of straights and a circle of 10 m radius: 783 m.
        rock_m = season(opened).wishes.races[-1].ground_m["rock"]
        assert rock_m == pytest.approx(783.0, rel=0.05)
        wait_until(qtbot, lambda: rested(opened))


def test_a_heavier_bike_is_worked_out_and_noted_once(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        in_season(opened, qtbot)
        heavy = opened.window.season.heavy
        assert not heavy.rims.isEnabled()
        heavy.ask.click()
        wait_until(qtbot, lambda: heavy.costs is not None)
        assert heavy.costs is not None
        frame_s, rims_s = heavy.costs
        # More mass never makes a lap faster at the same power, and rim mass is sped up twice.
        assert 0.0 < frame_s < rims_s
        heavy.frame.click()
        heavy.rims.click()
        notes = [s.note for s in season(opened).sessions if "heavier bike" in s.note]
        assert len(notes) == 1
        assert notes[0].count("heavier bike") == 1
        assert notes[0].endswith("at the rims")


def test_a_note_of_ones_own_stays_beside_the_heavier_bike() -> None:
    plan = planned()
    day = next(s.on for s in plan.sessions if s.label is DayLabel.TRAINING and s.note)
    own = next(s.note for s in plan.sessions if s.on == day)
    noted = note_heavy(plan, day, lap_s=3.0, rims=False)
    words = next(s.note for s in noted.sessions if s.on == day)
    assert words == f"{own}; heavier bike, +2.0 kg, about +3 s a lap, on the frame"


def test_counts_hard_days_and_several_races_reach_the_plan(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        in_season(opened, qtbot)
        form = opened.window.season.form
        form.drills["cornering"].setValue(3)
        form.hard.setValue(2)
        form.others.more.click()
        form.race_name.setText("Invented Final")
        opened.window.do("plan_season")
        wait_until(qtbot, lambda: season(opened).wishes.hard_days_in_a_row == 2)
        wishes = season(opened).wishes
        assert [race.name for race in wishes.races] == ["Invented Cup", "Invented Final"]
        assert wishes.wanted_counts["cornering"] == 3
        form.others.more.click()
        asked = form.wishes()
        assert asked is not None
        assert len(asked.races) == 2  # a race without a name is none yet
        form.race_name.setText("Invented Final")
        form.others.show_races(form.others.races[:1])
        form.others._drop(form.others.races[0])
        asked = form.wishes()
        assert asked is not None
        assert [race.name for race in asked.races] == ["Invented Final"]


def test_what_is_half_typed_stays_while_days_are_rated(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        in_season(opened, qtbot)
        place = opened.window.season
        place.form.hours.setValue(9.5)
        place.rating.setValue(5.0)
        place.rated.click()
        assert place.form.hours.value() == pytest.approx(9.5)


def test_planning_again_keeps_ratings_and_notes(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        plan = in_season(opened, qtbot)
        day = next(s.on for s in plan.sessions if s.label is DayLabel.TRAINING)
        rated = rate(plan, day, 7.0, minutes=50.0)
        opened.desk.apply("rate", lambda d: edits.set_season(d, rated))
        opened.window.season.form.hours.setValue(7.0)
        opened.window.do("plan_season")
        wait_until(qtbot, lambda: season(opened).wishes.hours_a_week == 7.0)
        assert next(s for s in season(opened).sessions if s.on == day).rating_cr10 == 7.0


def test_load_is_rating_times_minutes_and_said_to_be_coarse() -> None:
    # Session load as rating times minutes: Foster 2001. 7 x 50 = 350.
    plan = planned()
    assert "coarse" not in load_words(plan, FIRST)
    day = next(s.on for s in plan.sessions if s.label is DayLabel.TRAINING)
    words = load_words(rate(plan, day, 7.0, minutes=50.0), FIRST)
    assert "about 350" in words
    assert "Coarse" in words


def test_a_day_with_neither_label_asks(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        plan = relabel(in_season(opened, qtbot), FIRST, DayLabel.OPEN)
        opened.desk.apply("open", lambda d: edits.set_season(d, plan))
        wait_until(qtbot, lambda: rested(opened))
        assert "Training or recovery?" in opened.window.season.nudge.text()


def test_the_season_is_saved_on_all_its_pages_and_as_a_calendar(
    qtbot: QtBot, tmp_path: Path
) -> None:
    answers = Answers(target=tmp_path / "season.pdf")
    long = planned(replace(WISHES, races=(Race(name="Late", on=date(2031, 8, 30)),), weeks=26))
    with window_on(ladder_document(), answers=answers) as opened:
        in_season(opened, qtbot)
        opened.desk.apply("long", lambda d: edits.set_season(d, long))
        opened.window.do("season_pages")
        wait_until(qtbot, lambda: rested(opened))
        pages = PdfReader(tmp_path / "season.pdf").pages
        assert len(pages) == 2
        assert "race: Late" in pages[1].extract_text()
        answers.target = tmp_path / "season.ics"
        opened.window.do("export_season")
        wait_until(qtbot, lambda: rested(opened))
        events = Calendar.from_ical(answers.target.read_bytes()).walk("VEVENT")
        assert len(events) > 50


def noted(opened: Opened, day: date) -> Session:
    return next(s for s in season(opened).sessions if s.on == day)


def test_laps_of_a_ride_are_linked_with_a_session_and_stay(qtbot: QtBot, tmp_path: Path) -> None:
    (track,) = lap_rides(square(), rides=1, laps=4)
    ride = Ride(id=ride_id(track), track=track)
    document = take_in(Document(name="Invented square"), [ride])[0]
    day = rode_on(ride)
    assert day is not None
    with window_on(document) as opened:
        wait_until(qtbot, lambda: rested(opened))
        window = opened.window
        window.do("keep_circuit")
        wait_until(qtbot, lambda: bool(opened.desk.document.kept) and rested(opened))
        place = window.season
        place.today = place.form._today = lambda: day
        wishes = SeasonWishes(races=(Race(name="Invented Cup", on=day + timedelta(days=20)),))
        opened.desk.apply("plan", lambda d: edits.set_season(d, plan_season(wishes, day)))
        window.go("season")
        place.choose(day)
        place.ridden.note.click()
        wait_until(qtbot, lambda: noted(opened, day).ridden is not None)
        laps = noted(opened, day).ridden
        assert laps is not None
        assert (laps.ride, laps.laps) == (ride.id, 4)
        # Standing start to standing end: 4 laps of a 783 m square within the recorded time.
        took = float(track.time_s[-1] - track.time_s[0])
        assert laps.best_s is not None
        assert laps.median_s is not None
        assert laps.best_s <= laps.median_s <= took / 3.5
        assert noted(opened, day).minutes == pytest.approx(took / 60, abs=0.51)
        assert "4 laps" in place.ridden.told.text()
        assert opened.desk.workspace.undo_label == "Note the laps of a ride"
        # Survives a rebuild, the ride's going, and a file.
        opened.desk.apply("remove", lambda d: edits.remove_ride(d, ride.id))
        wait_until(qtbot, lambda: rested(opened))
        assert noted(opened, day).ridden == laps
        save_area(opened.desk.document, tmp_path / "a.loopwright")
        kept = load_area(tmp_path / "a.loopwright").season
        assert kept is not None
        assert next(s for s in kept.sessions if s.on == day).ridden == laps
        opened.desk.workspace.undo()
        opened.desk.workspace.undo()
        assert noted(opened, day).ridden is None


def test_a_session_holds_a_found_loop_under_a_name_of_its_own(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        plan = in_season(opened, qtbot)
        place = opened.window.season
        day = next(s.on for s in plan.sessions if s.label is DayLabel.TRAINING)
        place.choose(day)
        place.hold.click()
        name = noted(opened, day).loop
        assert [loop.name for loop in opened.desk.document.kept] == [name]
        loop, session = place.chosen()
        assert loop is not None
        assert session is not None
        assert (loop.name, session.on) == (name, day)
        card = CardDialog(opened.window, opened.files, loop=loop, session=session)
        wait_until(qtbot, lambda: bool(card.pages))
        said = [m.words for page in card.pages for m in page.marks if isinstance(m, Text)]
        assert "TRAINING" in said
        assert name in " ".join(said)
        assert any(words.startswith(f"{session.laps} laps") for words in said)
        card.close()
        wait_until(qtbot, lambda: rested(opened))
