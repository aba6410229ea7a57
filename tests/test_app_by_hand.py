"""Loops changed by hand and explained, with mouse and keyboard on a real window."""

from __future__ import annotations

from typing import TypeVar

import pytest
from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QMouseEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QDialog
from pytestqt.qtbot import QtBot

from app_help import Answers, found, ladder_document, rested, wait_until, window_on
from loopwright.app.opening import Opened
from loopwright.app.trade_off import TradeOffDialog
from loopwright.app.why import WhyDialog
from loopwright.model.ids import StretchId

Kind = TypeVar("Kind", bound=QDialog)


def ready(opened: Opened, qtbot: QtBot) -> None:
    wait_until(qtbot, lambda: found(opened))
    opened.window.map_pane.map.fit()


def ridden(opened: Opened) -> list[StretchId]:
    assert opened.desk.course is not None
    return [stretch for stretch, _ in opened.desk.course.arcs]


def unridden(opened: Opened) -> StretchId:
    assert opened.desk.terrain is not None
    used = set(ridden(opened))
    return next(s.id for s in opened.desk.terrain.network.stretches if s.id not in used)


def spot(opened: Opened, name: StretchId) -> QPoint:
    """The middle of a stretch on the map, in pixels."""
    stretch = opened.desk.stretch(name)
    assert stretch is not None
    x, y = stretch.xy[len(stretch.xy) // 2]
    return opened.window.map_pane.map.to_px(float(x), float(y)).toPoint()


def move(opened: Opened, place: QPoint) -> None:
    """Move with the button held; QTest's own moves carry no buttons."""
    port = opened.window.map_pane.map.viewport()
    event = QMouseEvent(
        QEvent.Type.MouseMove, QPointF(place), port.mapToGlobal(QPointF(place)),
        Qt.MouseButton.NoButton, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier,
    )  # fmt: skip
    QApplication.sendEvent(port, event)


def dialog(opened: Opened, qtbot: QtBot, kind: type[Kind]) -> Kind:
    def shown() -> list[Kind]:
        return [w for w in opened.window.findChildren(kind) if w.isVisible()]

    wait_until(qtbot, lambda: bool(shown()) and rested(opened))
    return shown()[0]


def test_a_pulled_loop_tells_its_worth_before_it_is_let_go(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        ready(opened, qtbot)
        view, desk = opened.window.map_pane.map, opened.desk
        other = unridden(opened)
        begin, end = spot(opened, ridden(opened)[0]), spot(opened, other)
        port, before = view.viewport(), desk.shown
        QTest.mousePress(port, Qt.MouseButton.LeftButton, pos=begin)
        for share in (0.3, 0.7, 1.0):
            move(opened, begin + (end - begin) * share)
        assert view.hovered == other
        wait_until(qtbot, lambda: "of the mix" in view.pull_words)
        assert len(view.pull_line) > 2
        port.grab()
        QTest.mouseRelease(port, Qt.MouseButton.LeftButton, pos=end)
        assert desk.shown is not before
        assert view.pull is None
        assert len(view.pull_line) == 0
        wait_until(qtbot, lambda: rested(opened))
        assert other in ridden(opened)


def test_a_loop_led_by_hand_can_be_kept(qtbot: QtBot) -> None:
    with window_on(ladder_document(), answers=Answers(word="mine")) as opened:
        ready(opened, qtbot)
        desk, actions = opened.desk, opened.window.actions_by_id
        desk.select((unridden(opened),))
        opened.window.do("lead_through")
        wait_until(qtbot, lambda: rested(opened))
        assert actions["keep"].isEnabled()
        assert not actions["forget"].isEnabled()
        opened.window.do("keep")
        wait_until(qtbot, lambda: rested(opened))
        assert [loop.name for loop in desk.document.kept] == ["mine"]
        assert actions["forget"].isEnabled()


def test_what_is_locked_stays_and_the_rest_is_found(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        ready(opened, qtbot)
        desk = opened.desk
        assert desk.course is not None
        held = desk.course.arcs[:2]
        desk.select(tuple(stretch for stretch, _ in held))
        assert "2 stretches chosen" in opened.window.map_pane.chosen_words.text()
        opened.window.do("finish")
        wait_until(qtbot, lambda: rested(opened))
        assert desk.shown is not None
        assert desk.shown.name == "by hand"
        assert set(held) <= set(desk.course.arcs)


def test_why_tells_what_each_stretch_adds_and_what_is_lost_without(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        ready(opened, qtbot)
        desk, shown = opened.desk, opened.desk.shown
        count = len(ridden(opened))
        opened.window.do("why")
        told = dialog(opened, qtbot, WhyDialog)
        assert told.table.rowCount() == count
        told.table.selectRow(0)
        wait_until(qtbot, lambda: rested(opened))
        assert "Without" in told.answer.text()
        assert "points lower" in told.answer.text() or "just as good" in told.answer.text()
        lost = told.told.parts[0].arc[0]
        QTest.mouseClick(told.show_other, Qt.MouseButton.LeftButton)
        wait_until(qtbot, lambda: rested(opened))
        assert desk.shown is not shown
        assert lost not in ridden(opened)


def test_why_not_answers_about_a_stretch_beside_the_loop(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        ready(opened, qtbot)
        opened.desk.select((unridden(opened),))
        opened.window.do("why_not")
        told = dialog(opened, qtbot, WhyDialog)
        assert told.answer.text().startswith("Through")
        told.close()


def test_the_front_is_shown_and_a_click_adopts_a_loop(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        ready(opened, qtbot)
        desk = opened.desk
        opened.window.do("trade_off")
        front = dialog(opened, qtbot, TradeOffDialog)
        lengths = [p.offer.loop.length_m for p in front.points]
        assert lengths == sorted(lengths)
        front.grab()
        place = front.chart.spot(0).toPoint()
        QTest.mouseClick(front.chart, Qt.MouseButton.LeftButton, pos=place)
        wait_until(qtbot, lambda: rested(opened))
        assert desk.shown is front.points[0].loop
        assert front.chart.chosen == 0
        assert desk.course is not None
        assert desk.course.length_m == pytest.approx(lengths[0], rel=0.01)
        QTest.keyClick(front.table, Qt.Key.Key_Down)
        wait_until(qtbot, lambda: rested(opened))
        assert desk.shown is front.points[min(1, len(front.points) - 1)].loop
        front.close()


def test_minutes_and_passes_apart_reach_the_search(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        ready(opened, qtbot)
        desk, lap = opened.desk, opened.window.loops.lap
        lap.unit.setCurrentIndex(1)
        lap.unit.activated.emit(1)
        wait_until(qtbot, lambda: rested(opened))
        assert desk.wishes.lap_s is not None
        lap.longest.setValue(4.0)
        lap.shortest.setValue(2.0)
        wait_until(qtbot, lambda: found(opened))
        assert desk.wishes.lap_s == (120.0, 240.0)
        assert desk.plan is not None
        assert 120.0 * 0.8 <= desk.plan.lap_time_s <= 240.0 * 1.2
        lap.apart.setValue(10)
        wait_until(qtbot, lambda: rested(opened))
        assert desk.wishes.head_on_m == 10.0
        assert desk.terrain is not None
        further = desk.rooms.further(desk.document, desk.terrain, desk.wishes)
        assert further.times is not None
        assert further.times.high_s == 240.0
        opened.window.do("undo")
        assert lap.apart.value() == 0


def test_asking_only_for_what_there_is_can_be_met(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        ready(opened, qtbot)
        desk, loops = opened.desk, opened.window.loops
        row = next(r for r in loops.rows.rows if r.kind.key == "corners")
        row.slider.setRange(1, 900)
        row.slider.setValue(900)
        wait_until(qtbot, lambda: desk.wishes.mix.targets["corners"] == 900.0 and found(opened))
        assert "The most a lap this long can give here" in loops.told.text()
        QTest.mouseClick(loops.less, Qt.MouseButton.LeftButton)
        wait_until(qtbot, lambda: found(opened))
        assert desk.wishes.mix.targets["corners"] < 900.0
        assert not loops.told.text()
