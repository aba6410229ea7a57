"""The map: what lies where, zooming about the pointer, choosing, levels, legend."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from app_help import found, ladder_document, wait_until, window_on
from loopwright.app.look import make_look
from loopwright.app.map_colours import Question, cut, key_pens, runs, steep_pen
from loopwright.app.map_hits import GroundHits, arrow_metres, headings_at, lap_metre, lap_point
from loopwright.app.map_levels import TOLERANCES_M, level_for, thinned
from loopwright.app.map_marks import bar_length_m, placed_signs, sign_image
from loopwright.app.opening import Opened
from loopwright.app.rides_layer import in_pixels
from loopwright.app.window import Window
from loopwright.geo.polyline import length_m
from loopwright.units import Units

NONE = Qt.KeyboardModifier.NoModifier


@given(st.floats(0.01, 1000.0))
def test_a_level_leaves_out_less_than_half_a_pixel(metres_a_pixel: float) -> None:
    tolerance = TOLERANCES_M[level_for(metres_a_pixel)]
    assert tolerance <= metres_a_pixel / 2 or tolerance == 0.0


def test_thinned_lines_keep_their_ends_and_stay_near() -> None:
    turn = np.linspace(0, 6, 400)
    line = np.column_stack((turn * 50, np.sin(turn) * 40))
    for level, tolerance in enumerate(TOLERANCES_M):
        short, thin, _again = thinned([line[:2], line, line], level)
        assert (short == line[:2]).all()
        assert (thin[0] == line[0]).all()
        assert (thin[-1] == line[-1]).all()
        assert abs(length_m(thin) - length_m(line)) < 0.02 * length_m(line) + tolerance


@given(st.floats(0.001, 500.0), st.sampled_from(list(Units)))
def test_the_scale_bar_is_round_and_fits(metres_a_pixel: float, units: Units) -> None:
    metres = bar_length_m(metres_a_pixel, make_look("light", units=units))
    assert 0 < metres / metres_a_pixel <= 110.0 + 1e-6
    assert metres / metres_a_pixel > 20.0


def looked_at(opened: Opened, qtbot: QtBot) -> Window:
    wait_until(qtbot, lambda: found(opened))
    return opened.window


def test_zooming_keeps_the_place_under_the_pointer(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        view = looked_at(opened, qtbot).map_pane.map
        for factor, place in ((3.0, QPointF(200, 150)), (0.4, QPointF(500, 300))):
            before = view.to_ground(place)
            view.zoom(factor, place)
            after = view.to_ground(place)
            assert np.hypot(*np.subtract(before, after)) < 2.0 * view.metres_a_pixel


def test_a_click_chooses_shift_adds_and_again_takes_away(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        view = looked_at(opened, qtbot).map_pane.map
        desk = opened.desk
        assert desk.terrain is not None
        first, second = desk.terrain.network.stretches[:2]
        spots = [middle_px(opened, s.xy) for s in (first, second)]
        port = view.viewport()
        QTest.mouseClick(port, Qt.MouseButton.LeftButton, NONE, spots[0])
        assert chosen(opened) == [first.id]
        shift = Qt.KeyboardModifier.ShiftModifier
        QTest.mouseClick(port, Qt.MouseButton.LeftButton, shift, pos=spots[1])
        assert chosen(opened) == [first.id, second.id]
        QTest.mouseClick(port, Qt.MouseButton.LeftButton, shift, pos=spots[0])
        assert chosen(opened) == [second.id]
        QTest.mouseClick(port, Qt.MouseButton.LeftButton, NONE, QPoint(port.width() - 5, 5))
        assert chosen(opened) == []


def chosen(opened: Opened) -> list[str]:
    return list(opened.desk.selection)


def middle_px(opened: Opened, xy: np.ndarray) -> QPoint:
    x, y = xy[len(xy) // 2]
    return opened.window.map_pane.map.to_px(float(x), float(y)).toPoint()


def test_circling_chooses_what_lies_inside(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        looked_at(opened, qtbot)
        terrain = opened.desk.terrain
        assert terrain is not None
        hits = GroundHits(terrain)
        assert set(hits.inside([(-1e4, -1e4), (1e4, -1e4), (1e4, 1e4), (-1e4, 1e4)])) == {
            s.id for s in terrain.network.stretches
        }
        assert hits.inside([(0.0, 0.0), (1.0, 1.0)]) == ()
        assert hits.nearest(1e5, 1e5, within_m=50.0) is None
    assert GroundHits(None).nearest(0.0, 0.0, within_m=1e9) is None


def test_keys_step_through_stretches_and_back(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        view = looked_at(opened, qtbot).map_pane.map
        QTest.keyClick(view, Qt.Key.Key_N)
        first = opened.desk.selection
        QTest.keyClick(view, Qt.Key.Key_N)
        assert opened.desk.selection != first
        QTest.keyClick(view, Qt.Key.Key_P)
        assert opened.desk.selection == first


def test_pointing_at_the_map_and_the_profile_move_one_mark(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        window = looked_at(opened, qtbot)
        course = opened.desk.course
        assert course is not None
        spot = window.map_pane.map.to_px(*lap_point(course, course.length_m / 3)).toPoint()
        QTest.mouseMove(window.map_pane.map.viewport(), QPoint(2, 2))
        QTest.mouseMove(window.map_pane.map.viewport(), spot)
        wait_until(qtbot, lambda: window.map_pane.map.pointed is not None)
        box = window.profile.plot()
        place = QPoint(round(box.left() + box.width() / 2), round(box.center().y()))
        QTest.mouseMove(window.profile, place)
        wait_until(
            qtbot,
            lambda: abs((window.map_pane.map.pointed or 0) - course.length_m / 2) < 5.0,
        )
        assert "km" in window.profile.words_at(window.map_pane.map.pointed)


def test_the_profile_is_painted_anew_in_a_turn_of_its_own(qtbot: QtBot) -> None:
    """Not while the window paints the map: both together would be felt."""
    with window_on(ladder_document()) as opened:
        profile, desk = looked_at(opened, qtbot).profile, opened.desk
        profile.repaint()
        kept = profile._picture.cacheKey()
        assert desk.plan is not None
        desk.plan = replace(desk.plan)
        desk.plan_changed.emit()
        profile.repaint()
        assert profile._picture.cacheKey() == kept
        wait_until(qtbot, lambda: profile._picture.cacheKey() != kept)
        kept = profile._picture.cacheKey()
        profile.resize(profile.width() - 40, profile.height())
        profile.repaint()
        assert profile._picture.cacheKey() != kept
        assert profile._picture.width() == profile.width()


def test_places_on_a_lap(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        looked_at(opened, qtbot)
        course = opened.desk.course
        assert course is not None
        x, y = lap_point(course, 100.0)
        found_m = lap_metre(course, x, y, within_m=5.0)
        assert found_m is not None
        assert abs(found_m - 100.0) < 1.0
        assert lap_metre(course, x + 1e4, y, within_m=5.0) is None
        assert (np.abs(headings_at(course, np.array([0.0, 50.0]))) <= np.pi).all()
        metres = arrow_metres(course, 50.0)
        assert 0 < metres[0] < metres[-1] < course.length_m


@pytest.mark.parametrize("question", list(Question))
@pytest.mark.parametrize("theme", ["light", "dark"])
def test_every_question_covers_every_stretch_and_has_a_key(
    qtbot: QtBot, question: Question, theme: str
) -> None:
    with window_on(ladder_document()) as opened:
        looked_at(opened, qtbot)
        terrain, tones = opened.desk.terrain, make_look(theme).theme
        assert terrain is not None
        pens = []
        every = tuple(runs(terrain, question, tones))
        assert len(every) == len(terrain.network.stretches)
        for parts, stretch in zip(every, terrain.network.stretches, strict=True):
            assert parts[0].xy[0] == pytest.approx(stretch.xy[0], abs=1e-6)
            assert max(length_m(p.xy) for p in parts) > 0
            pens += [p.pen for p in parts]
        key = key_pens(dict.fromkeys(pens))
        assert all(pen.words for pen in key)
        assert len({pen.words for pen in key}) == len(key)


def test_cut_parts_join_up() -> None:
    line = np.column_stack((np.arange(0.0, 100.0, 3.0), np.zeros(34)))
    parts = [cut(line, a, b) for a, b in ((0, 20), (20, 50), (50, 99))]
    assert sum(length_m(p) for p in parts) == pytest.approx(length_m(line))


def test_steeper_is_wider_so_that_grey_print_tells_it_too() -> None:
    widths = [steep_pen(step).width for step in range(5)]
    assert widths == sorted(set(widths))


def test_a_ride_in_pixels_keeps_its_ends() -> None:
    from PySide6.QtCore import QRectF

    line = np.cumsum(np.full((1000, 2), 0.01), axis=0)
    pixels = in_pixels(line, QRectF(0, -20, 20, 20), 1.0)
    assert len(pixels) < 40
    assert pixels[0] == pytest.approx([0.01, 19.99])
    assert pixels[-1] == pytest.approx([10.0, 10.0])


def test_what_is_shown_whole_stays_so_and_a_small_loop_is_come_closer_to(qtbot: QtBot) -> None:
    with window_on(ladder_document(), size=(1000, 700)) as opened:
        view = looked_at(opened, qtbot).map_pane.map
        view.fit()
        before = view.metres_a_pixel
        opened.window.resize(1800, 1200)
        wait_until(qtbot, lambda: view.metres_a_pixel < 0.8 * before)
        whole = view.ground.bounds()
        small = whole.adjusted(0.4 * whole.width(), 0.4 * whole.height(),
                               -0.4 * whole.width(), -0.4 * whole.height())  # fmt: skip
        near = view.metres_a_pixel
        view.come_closer(small)
        assert view.metres_a_pixel < 0.8 * near
        view.zoom(2.0)  # a person looks elsewhere: the map stays there
        own = view.metres_a_pixel
        view.come_closer(small)
        opened.window.resize(1000, 700)
        qtbot.wait(20)
        assert view.metres_a_pixel == pytest.approx(own)


@pytest.mark.parametrize("size", [6.0, 12.0])
@pytest.mark.parametrize("up", [True, False])
def test_a_sign_left_of_its_line_leaves_room_for_the_number(
    qtbot: QtBot, size: float, *, up: bool
) -> None:
    with window_on(ladder_document()) as opened:
        looked_at(opened, qtbot)
        course = opened.desk.course
    assert course is not None
    north = course.dist_m if up else -course.dist_m
    lap = replace(course, xy=np.column_stack((0.0 * north, north)), closed=False)
    one = replace(course.features[0], at_m=course.length_m / 2, number=27)
    ((_, place),) = placed_signs([one], lap, to_px=lambda x, y: QPointF(x, -y), size=size)
    image = sign_image(one.kind, one.number, size=size, look=make_look("light"), ratio=1.0)
    number_px = image.width() - 4 * size
    assert place.x() > 1.5 * size if up else place.x() + number_px < -size / 2
    assert place.y() == pytest.approx(-lap.length_m / 2 * (1 if up else -1))
