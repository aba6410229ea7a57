"""Area settings and layers: private circle, height file, hill shading, remembered preferences."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import QRectF
from pytestqt.qtbot import QtBot

from app_help import Answers, found, ladder_document, rested, wait_until, window_on
from loopwright.app.area_settings import radius_in
from loopwright.app.relief_layer import STRENGTH, hillshade, shadow_image
from loopwright.app.remembered import Remembered
from loopwright.app.rides_layer import painted
from loopwright.io.autosave import autosave_path, save_autosave
from loopwright.io.preferences import load_preferences
from loopwright.jobs import Silent


def test_level_ground_gets_the_sine_of_the_suns_height() -> None:
    bright = hillshade(np.full((5, 6), 120.0), 10.0)
    assert bright[1:-1, 1:-1] == pytest.approx(np.sin(np.radians(45.0)))
    assert np.isnan(bright[0]).all()


def test_a_slope_square_to_the_sun_is_full_bright_and_its_back_is_dark() -> None:
    # A plane tilted 45 degrees towards the north-west faces light from there at 45 degrees.
    rows, columns = np.mgrid[0:7, 0:7].astype(float)
    towards_north_west = (columns + rows) / np.sqrt(2.0) * 10.0
    assert hillshade(towards_north_west, 10.0)[3, 3] == pytest.approx(1.0)
    assert hillshade(-towards_north_west, 10.0)[3, 3] == pytest.approx(0.0, abs=1e-12)


def test_small_and_unknown_grids_shade_nothing() -> None:
    assert np.isnan(hillshade(np.zeros((2, 9)), 5.0)).all()
    image = shadow_image(np.full((4, 4), np.nan))
    assert image.pixelColor(1, 1).alpha() == 0
    assert shadow_image(np.zeros((4, 4))).pixelColor(1, 1).alpha() == STRENGTH


def test_a_height_file_that_is_none_is_told_and_the_window_lives_on(
    qtbot: QtBot, tmp_path: Path
) -> None:
    junk = tmp_path / "heights.hgt"
    junk.write_bytes(b"no heights")
    with window_on(ladder_document(), answers=Answers(file=junk)) as opened:
        wait_until(qtbot, lambda: found(opened))
        opened.window.do("height_file")
        wait_until(qtbot, lambda: bool(opened.desk.trouble))
        assert "heights.hgt" in opened.desk.trouble
        opened.window.do("undo")
        wait_until(qtbot, lambda: rested(opened) and opened.desk.terrain is not None)


def test_a_private_circle_is_set_and_taken_back(qtbot: QtBot) -> None:
    answers = Answers(word="60")
    with window_on(ladder_document(), answers=answers) as opened:
        wait_until(qtbot, lambda: found(opened))
        desk = opened.desk
        assert desk.terrain is not None
        desk.select((desk.terrain.network.stretches[0].id,))
        opened.window.do("private")
        circle = desk.document.settings.private
        assert circle is not None
        assert circle.radius_m == 60.0
        wait_until(qtbot, lambda: rested(opened))
        opened.window.do("not_private")
        assert desk.document.settings.private is None
        wait_until(qtbot, lambda: rested(opened))


def test_a_radius_is_a_number_in_range() -> None:
    assert radius_in("250,5") == 250.5
    assert radius_in("nan") is None
    assert radius_in("9e9") is None
    assert radius_in("far") is None


def test_recent_areas_are_kept_newest_first_and_bad_values_fall_back(tmp_path: Path) -> None:
    record = Remembered(path=tmp_path / "p.json")
    for name in ("a", "b", "a"):
        record.opened(tmp_path / name)
    assert [path.name for path in record.recent()] == ["a", "b"]
    assert record.last_area() is None
    (tmp_path / "b").touch()
    assert record.last_area() == (tmp_path / "b").resolve()
    assert load_preferences(tmp_path / "p.json").recent == record.preferences.recent
    (tmp_path / "p.json").write_text('{"theme": "pink", "text_scale": 1.5}')
    again = Remembered(preferences=load_preferences(tmp_path / "p.json"))
    assert again.preferences.theme == "system"
    assert again.look().scale == 1.5


def test_unsaved_work_is_kept_and_offered_after_a_crash(qtbot: QtBot, tmp_path: Path) -> None:
    document = ladder_document()
    answers = Answers(choice=0, word="Kept loop")
    with window_on(document, answers=answers) as opened:
        wait_until(qtbot, lambda: found(opened))
        safe = opened.files.safe
        safe._state = tmp_path
        opened.window.do("keep")
        safe.keep()
        wait_until(qtbot, lambda: rested(opened))
        assert autosave_path(None, tmp_path).exists()
        brought = safe.offer(None)
        assert brought is not None
        assert [loop.name for loop in brought.kept] == ["Kept loop"]
        answers.choice = 1
        assert safe.offer(None) is None
        safe.drop(None)
        assert safe.found(None) is None
    save_autosave(document, None, tmp_path)


def test_rides_are_painted_where_they_lie() -> None:
    line = np.array([[0.0, 0.0], [100.0, 0.0]])
    layer = painted([line], QRectF(-10, -10, 120, 20), 2.0, Silent(), colour="#000000")
    assert layer.image.width() == 240
    assert layer.image.pixelColor(120, 20).alpha() > 0
    assert layer.image.pixelColor(120, 4).alpha() == 0
