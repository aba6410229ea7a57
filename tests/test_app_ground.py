"""Tagging the ground and correcting the network from the window."""

from __future__ import annotations

from datetime import date

import numpy as np
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from app_help import Answers, found, ladder_document, rested, wait_until, window_on
from loopwright.app.brush import FLAG_KEYS, ROUGH_KEYS, SURFACE_KEYS, WIDTH_KEYS, Brush, difference
from loopwright.app.map_tools import touched
from loopwright.app.opening import Opened
from loopwright.model.ground import ROUGHNESSES, SURFACES, WIDTHS
from loopwright.model.network import CorrectionKind
from loopwright.model.track import RideRole


def ready(opened: Opened, qtbot: QtBot) -> None:
    wait_until(qtbot, lambda: found(opened))
    opened.window.go("ground")
    wait_until(qtbot, lambda: rested(opened))


def test_every_key_says_one_word_of_the_model() -> None:
    keys = [*SURFACE_KEYS, *ROUGH_KEYS, *WIDTH_KEYS, *FLAG_KEYS]
    assert len(keys) == len(set(keys))
    assert set(SURFACE_KEYS.values()) <= set(SURFACES)
    assert set(ROUGH_KEYS.values()) <= set(ROUGHNESSES)
    assert set(WIDTH_KEYS.values()) <= set(WIDTHS)
    assert not {"N", "P", "B"} & set(keys)


def test_a_brush_paints_only_what_changed() -> None:
    before = Brush(surface="dirt")
    after = before.pressed("E")
    assert after is not None
    assert difference(before, after) == Brush(roughness="bad")
    assert before.pressed("!") is None


def test_a_key_tags_the_chosen_stretch_and_undo_takes_it_back(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        ready(opened, qtbot)
        desk = opened.desk
        assert desk.terrain is not None
        name = desk.terrain.network.stretches[0].id
        desk.select((name,))
        QTest.keyClick(opened.window.map_pane.map, Qt.Key.Key_8)
        wait_until(qtbot, lambda: rested(opened))
        assert {span.surface for span in desk.terrain.spans[name]} == {"rock"}
        assert desk.selection == (name,)
        opened.window.do("undo")
        wait_until(qtbot, lambda: rested(opened))
        assert desk.document.tags == ()
        assert {span.surface for span in desk.terrain.spans[name]} == {"unknown"}


def test_a_ride_is_gone_through_once_its_report_is_there(qtbot: QtBot) -> None:
    with window_on(ladder_document(), leisure_s=1e9) as opened:
        ground, desk = opened.window.ground, opened.desk
        wait_until(qtbot, lambda: desk.plan is not None)
        assert ground.tracks == ()
        ground.begin_ride(desk.document.rides[0])
        wait_until(qtbot, lambda: bool(ground.tracks))
        assert ground.currentWidget() is ground.tag_ride
        assert desk.trouble == ""


def test_ground_in_view_does_not_wait_for_reports(qtbot: QtBot) -> None:
    with window_on(ladder_document(), leisure_s=1e9) as opened:
        wait_until(qtbot, lambda: opened.desk.plan is not None)
        opened.window.go("ground")
        wait_until(qtbot, lambda: bool(opened.window.ground.tracks))


def test_a_ride_is_tagged_by_keyboard_alone(qtbot: QtBot) -> None:
    with window_on(ladder_document(), answers=Answers(choice=0)) as opened:
        ready(opened, qtbot)
        window, desk = opened.window, opened.desk
        QTest.keyClick(window, Qt.Key.Key_T, Qt.KeyboardModifier.ControlModifier)
        flow = window.ground.tag_ride
        assert window.ground.currentWidget() is flow
        parts = len(flow.parts)
        assert parts >= 3
        QTest.keyClick(flow, Qt.Key.Key_2)
        wait_until(qtbot, lambda: rested(opened))
        QTest.keyClick(flow, Qt.Key.Key_Space)
        QTest.keyClick(flow, Qt.Key.Key_Backspace)
        assert flow.place == 1
        for _ in range(parts - 1):
            QTest.keyClick(flow, Qt.Key.Key_E)
            QTest.keyClick(flow, Qt.Key.Key_3)
            wait_until(qtbot, lambda: rested(opened))
        assert flow.part is None
        assert len(desk.document.tags) == parts
        assert desk.document.tags[0].surface == "dirt"
        assert desk.document.tags[-1].roughness == "bad"
        QTest.keyClick(flow, Qt.Key.Key_Escape)
        assert window.ground.currentWidget() is window.ground.column


def test_tags_of_today_are_dated(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        ready(opened, qtbot)
        place, desk = opened.window.ground, opened.desk
        place.today = lambda: date(2031, 3, 9)
        place.dated.setChecked(True)
        assert desk.terrain is not None
        desk.select((desk.terrain.network.stretches[0].id,))
        place.brush.press("0")
        assert desk.document.tags[0].on == date(2031, 3, 9)
        assert desk.document.tags[0].surface == "mud"


def test_a_stroke_paints_the_part_it_ran_along(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        ready(opened, qtbot)
        terrain = opened.desk.terrain
        assert terrain is not None
        stretch = max(terrain.network.stretches, key=lambda s: terrain.lengths_m[s.id])
        points = stretch.xy[20:60]
        (part,) = touched(terrain, points, [stretch.id] * len(points), whole=False)
        run = np.hypot(*np.diff(stretch.xy, axis=0).T)
        assert abs(part.from_m - run[:20].sum()) < 1e-6
        assert abs(part.to_m - run[:59].sum()) < 1e-6
        (whole,) = touched(terrain, points[:1], [stretch.id], whole=True)
        assert (whole.from_m, round(whole.to_m, 6)) == (0.0, round(float(run.sum()), 6))


def test_a_one_way_stretch_is_listed_and_taken_back(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        ready(opened, qtbot)
        window, desk = opened.window, opened.desk
        assert desk.terrain is not None
        desk.select((desk.terrain.network.stretches[0].id,))
        window.do("one_way")
        wait_until(qtbot, lambda: rested(opened))
        assert [c.kind for c in desk.document.corrections] == [CorrectionKind.ONE_WAY]
        unfit = window.ground.unfit
        assert unfit.list.count() == 1
        unfit.list.setCurrentRow(0)
        unfit.off.click()
        assert desk.document.corrections == ()
        wait_until(qtbot, lambda: rested(opened))


def test_rides_tell_their_faults_and_can_be_left_out(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        ready(opened, qtbot)
        place, desk = opened.window.ground, opened.desk
        rides = len(desk.document.rides)
        assert place.rides.count() == rides
        assert all("\n" in place.rides.item(n).text() for n in range(rides))
        place.rides.setCurrentRow(0)
        place.out.click()
        assert sum(ride.hidden for ride in desk.document.rides) == 1
        place.race.click()
        assert sum(ride.role is RideRole.RACE for ride in desk.document.rides) == 1
        place.away.click()
        assert len(desk.document.rides) == rides - 1
        wait_until(qtbot, lambda: rested(opened))
