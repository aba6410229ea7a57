"""Loops, Laps and Season places, the card, exports and dialogs."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from pathlib import Path

import gpxpy
from pypdf import PdfReader
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot
from shiboken6 import isValid

from app_help import Answers, found, ladder_document, rested, wait_until, window_on
from loopwright.app.card_dialog import CardDialog
from loopwright.app.compare import side_by_side
from loopwright.app.lap_rows import bars_of, lap_row, stretched, summary
from loopwright.app.look import make_look
from loopwright.app.opening import Opened
from loopwright.app.profile import ridden_steps
from loopwright.app.rider_dialog import RiderDialog, teeth_in
from loopwright.io.tracks import ride_id
from loopwright.model.document import Document
from loopwright.model.ids import Way
from loopwright.model.laps import Lap, LapSheet, Split
from loopwright.model.season import DayLabel
from loopwright.model.track import Ride, RideRole
from loopwright.reading import take_in
from loopwright.units import Units
from worlds import lap_rides, square


def ready(opened: Opened, qtbot: QtBot) -> None:
    wait_until(qtbot, lambda: found(opened))


def test_a_dragged_slider_is_one_step_and_searches_again(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        ready(opened, qtbot)
        rows = opened.window.loops.rows
        first = opened.desk.result
        slider = rows.rows[0].slider
        for value in (10, 9, 7):
            slider.setValue(value)
        wait_until(qtbot, lambda: opened.desk.wishes.mix.targets["corners"] == 7.0)
        wait_until(qtbot, lambda: found(opened) and opened.desk.result is not first)
        assert opened.desk.workspace.undo_label == "Change the mix"
        opened.window.do("undo")
        assert opened.desk.wishes.mix.targets["corners"] == 8.0
        assert rows.rows[0].want == 8.0


def test_loops_on_offer_are_listed_anew_only_when_they_say_another_thing(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        ready(opened, qtbot)
        offers = opened.window.loops.found
        items = [offers.item(row) for row in range(offers.count())]
        opened.window.loops.refresh()
        assert [offers.item(row) for row in range(offers.count())] == items
        opened.desk.show_loop(opened.desk.candidates[-1].loop)
        opened.window.loops.refresh()
        assert offers.currentItem() is items[-1]
        opened.window.loops.dress(make_look("light", units=Units.IMPERIAL))
        assert "mi" in offers.item(0).data(Qt.ItemDataRole.AccessibleTextRole)


def test_kinds_are_added_and_taken_away_but_never_the_last(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        ready(opened, qtbot)
        rows = opened.window.loops.rows
        rows._remove("corners")
        wait_until(qtbot, lambda: rested(opened))
        assert list(opened.desk.wishes.mix.targets) == ["straights"]
        rows._remove("straights")
        assert list(opened.desk.wishes.mix.targets) == ["straights"]
        place = rows.more.findData("descent_m")
        rows._add(place)
        wait_until(qtbot, lambda: rested(opened))
        assert set(opened.desk.wishes.mix.targets) == {"straights", "descent_m"}


def test_an_impossible_window_says_so_and_keeps_working(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        ready(opened, qtbot)
        loops = opened.window.loops.lap
        loops.longest.setValue(0.4)
        loops.shortest.setValue(0.3)
        wait_until(qtbot, lambda: rested(opened))
        assert opened.desk.candidates == ()
        assert opened.desk.course is None
        assert opened.window.loops.told.text()
        opened.window.do("undo")
        opened.window.do("undo")
        wait_until(qtbot, lambda: found(opened))


def test_must_avoid_and_start_come_from_the_map(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        ready(opened, qtbot)
        desk = opened.desk
        assert desk.terrain is not None
        one = desk.terrain.network.stretches[0].id
        for action in ("must", "start_here"):
            desk.select((one,))
            opened.window.do(action)
        wait_until(qtbot, lambda: rested(opened))
        assert len(desk.wishes.must) == 1
        assert desk.wishes.start is not None
        assert desk.candidates
        opened.window.do("free_wishes")
        assert not desk.wishes.must
        wait_until(qtbot, lambda: rested(opened))


def test_a_loop_led_by_hand_runs_through_the_stretch(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        ready(opened, qtbot)
        desk = opened.desk
        assert desk.terrain is not None
        assert desk.course is not None
        used = {arc[0] for arc in desk.course.arcs}
        other = next(s.id for s in desk.terrain.network.stretches if s.id not in used)
        desk.select((other,))
        opened.window.do("lead_through")
        wait_until(qtbot, lambda: rested(opened))
        assert desk.shown is not None
        assert desk.shown.name == "by hand"
        assert other in {arc[0] for arc in desk.course.arcs}


def test_every_loop_has_its_numbers_side_by_side(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        ready(opened, qtbot)
        desk = opened.desk
        wait_until(qtbot, lambda: all(desk.facts.of(c.loop) for c in desk.candidates))
        facts = [fact for c in desk.candidates if (fact := desk.facts.of(c.loop)) is not None]
        rows = side_by_side(facts, desk.wishes.mix, Units.METRIC)
        assert {len(row) for row in rows} == {2 + len(facts)}
        assert [row[0] for row in rows][-2:] == ["Corners", "Straights"]
        wait_until(qtbot, lambda: rested(opened))


def split(name: str, seconds: float, target: float, error: float) -> Split:
    return Split(
        number=1, name=name, from_m=0.0, to_m=10.0, elapsed_s=seconds, moving_s=seconds,
        std_error_s=error, target_s=target,
    )  # fmt: skip


def lap(number: int, seconds: float, *, complete: bool = True) -> Lap:
    return Lap(
        number=number, way=Way.FORWARD, start_s=0.0, elapsed_s=seconds, moving_s=seconds,
        length_m=500.0, complete=complete,
        splits=(split("1 corner", 10.0, 8.0, 0.5), split("2 climb", 20.0, 20.2, 0.5)),
    )  # fmt: skip


def test_laps_in_words() -> None:
    assert lap_row(lap(1, 65.0), 60.0) == ["1", "1:05.0", "+5 s", "1:05"]
    assert lap_row(lap(2, 65.0, complete=False), 60.0)[2] == "part"
    bars = bars_of(lap(1, 65.0))
    assert [(bar.words(), bar.sure) for bar in bars] == [("+2.0 s", True), ("-0.2 s", False)]
    assert [part.sure for part in stretched(lap(1, 65.0))] == [True, False]
    none = LapSheet(ride="r", loop="l", laps=(), best_s=None, median_s=None,  # type: ignore[arg-type] # any id
                    fade_per_lap_s=None, spread_s=None, ground_m={})  # fmt: skip
    assert "never" in summary(none)


def test_a_ridden_circuit_is_kept_and_its_laps_read(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        ready(opened, qtbot)
        window = opened.window
        window.go("laps")
        wait_until(qtbot, lambda: rested(opened))
        sheet = opened.desk.ridden.sheet
        assert sheet is not None
        assert window.laps.laps.rowCount() == len(sheet.laps)
        window.do("next_loop")
        wait_until(qtbot, lambda: rested(opened))
        again = opened.desk.ridden.sheet
        assert again is not sheet


def test_a_season_is_planned_labelled_rated_and_undone(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        ready(opened, qtbot)
        window, desk = opened.window, opened.desk
        window.go("season")
        window.season.today = lambda: date(2031, 3, 3)
        window.season.form._today = window.season.today
        window.season.form.race_day.setDate(date(2031, 5, 24))  # type: ignore[arg-type] # Qt takes dates
        window.do("plan_season")
        wait_until(qtbot, lambda: desk.document.season is not None)
        plan = desk.document.season
        assert plan is not None
        assert plan.sessions[-1].on == date(2031, 5, 24)
        window.season.rating.setValue(6.0)
        window.season.rated.click()
        assert desk.document.season is not None
        assert any(s.rating_cr10 == 6.0 for s in desk.document.season.sessions)
        window.season.recovery.click()
        labels = [s.label for s in desk.document.season.sessions]
        assert labels.count(DayLabel.RECOVERY) > [s.label for s in plan.sessions].count(
            DayLabel.RECOVERY
        )
        for _ in range(3):
            window.do("undo")
        assert desk.document.season is None


def test_the_card_is_drawn_and_saved(qtbot: QtBot, tmp_path: Path) -> None:
    answers = Answers(target=tmp_path / "card.pdf")
    with window_on(ladder_document(), answers=answers) as opened:
        ready(opened, qtbot)
        dialog = CardDialog(opened.window, opened.files)
        dialog.show()
        wait_until(qtbot, lambda: bool(dialog.pages))
        dialog.save.click()
        wait_until(qtbot, lambda: rested(opened))
        assert len(PdfReader(tmp_path / "card.pdf").pages) == 1
        answers.target = tmp_path / "card.png"
        dialog.save.click()
        wait_until(qtbot, lambda: rested(opened))
        assert (tmp_path / "card.png").read_bytes().startswith(b"\x89PNG")
        dialog.close()


def test_a_card_closed_while_it_is_drawn_leaves_nothing(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        ready(opened, qtbot)
        opened.window.do("card")
        (dialog,) = opened.window.findChildren(CardDialog)
        assert opened.desk.jobs.busy("card")
        dialog.close()
        qtbot.waitUntil(lambda: not isValid(dialog))
        wait_until(qtbot, lambda: rested(opened) and not opened.desk.jobs.polling)


def test_exports_are_written_off_the_windows_thread(qtbot: QtBot, tmp_path: Path) -> None:
    answers = Answers(target=tmp_path / "loop.gpx")
    with window_on(ladder_document(), answers=answers) as opened:
        ready(opened, qtbot)
        opened.window.do("export_loop")
        wait_until(qtbot, lambda: rested(opened))
        tracks = gpxpy.parse((tmp_path / "loop.gpx").read_text()).tracks
        assert opened.desk.course is not None
        assert abs(tracks[0].length_2d() - opened.desk.course.length_m) < 5.0
        answers.target = tmp_path / "network.geojson"
        opened.window.do("export_network")
        wait_until(qtbot, lambda: rested(opened))
        roles = [
            f["properties"]["role"] for f in json.loads(answers.target.read_text())["features"]
        ]
        assert opened.desk.terrain is not None
        assert roles.count("stretch") == len(opened.desk.terrain.network.stretches)


def test_the_rider_is_one_step_and_nonsense_keeps_what_was(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        ready(opened, qtbot)
        before = opened.desk.document.rider
        dialog = RiderDialog(opened.window)
        dialog.mass.setValue(68.0)
        dialog.cogs.setText("ten eleven")
        dialog.keep()
        assert opened.desk.document.rider == replace(before, mass_kg=68.0)
        wait_until(qtbot, lambda: rested(opened))
    assert teeth_in("32 34, 30") == (30, 32, 34)
    assert teeth_in("200") == ()


def test_ridden_speed_steps_from_split_to_split() -> None:
    first, second = split("1 corner", 10.0, 8.0, 0.5), split("2 climb", 20.0, 20.2, 0.5)
    whole = replace(lap(1, 65.0), splits=(first, replace(second, from_m=10.0, to_m=20.0)))
    ((at_m, speed),) = ridden_steps(whole)
    assert at_m.tolist() == [0.0, 10.0, 10.0, 20.0]
    assert speed.tolist() == [1.0, 1.0, 0.5, 0.5]


def test_nothing_is_drawn_where_the_loop_was_left() -> None:
    first, second = split("1 corner", 10.0, 8.0, 0.5), split("2 climb", 20.0, 20.2, 0.5)
    left = replace(lap(1, 65.0), splits=(replace(second, from_m=90.0, to_m=100.0), first))
    assert [at_m.tolist() for at_m, _ in ridden_steps(left)] == [[0.0, 10.0], [90.0, 100.0]]
    assert ridden_steps(replace(left, splits=())) == []


def test_a_race_lap_of_the_area_becomes_the_mix(qtbot: QtBot) -> None:
    answers = Answers(choice=0)
    with window_on(with_a_race(ladder_document()), answers=answers) as opened:
        wait_until(qtbot, lambda: rested(opened) and opened.desk.terrain is not None)
        opened.window.do("copy_race")
        wait_until(qtbot, lambda: opened.desk.wishes.mix.name.startswith("race"))
        assert opened.desk.wishes.mix.targets["corners"] >= 4.0
        assert opened.desk.workspace.undo_label is not None
        wait_until(qtbot, lambda: rested(opened))


def with_a_race(document: Document) -> Document:
    """Add three laps round a square, as a race lap to copy."""
    (track,) = lap_rides(square(), rides=1, laps=3)
    return take_in(document, [Ride(id=ride_id(track), track=track, role=RideRole.RACE)])[0]
