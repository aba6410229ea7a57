"""The Laps place after a ride: sections, corners, climbs, two rides, ground, tagging."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from pytestqt.qtbot import QtBot

from app_help import SLOWER, WISHES, rested, square_document, wait_until, window_on
from loopwright import edits
from loopwright.app.laps_fitting import best_fitting
from loopwright.app.laps_ground import counted_words
from loopwright.app.laps_reading import may_have_ridden
from loopwright.app.opening import Opened
from loopwright.geo.frame import to_degrees
from loopwright.model.arrays import Floats
from loopwright.model.loops import SavedLoop
from loopwright.model.track import RideRole
from worlds import lap_rides, square


def laps_read(opened: Opened, qtbot: QtBot) -> None:
    """Keep the circuit of the newest ride and read its laps."""
    wait_until(qtbot, lambda: rested(opened) and opened.desk.terrain is not None)
    window = opened.window
    window.go("laps")
    window.do("keep_circuit")
    wait_until(qtbot, lambda: rested(opened) and opened.desk.ridden.sheet is not None)


def test_two_rides_of_the_loop_stand_side_by_side(qtbot: QtBot) -> None:
    with window_on(square_document()) as opened:
        laps_read(opened, qtbot)
        fold = opened.window.laps.beside
        assert not fold.sheets
        fold.head.setChecked(True)
        wait_until(qtbot, lambda: rested(opened) and len(fold.sheets) == 3)
        assert fold.rides.rowCount() == 3
        found = fold.comparison()
        assert found is not None
        assert found.lap is not None
        assert found.lap.clear
        # The slowed ride takes SLOWER times as long on every lap, whatever its noise.
        assert abs(found.lap.b_s / found.lap.a_s - SLOWER) < 0.05
        assert "slower in this ride" in fold.found.text()
        assert fold.splits.rowCount() == len(found.splits)
        fold.rides.selectRow(0)
        assert fold.comparison() is None
        assert fold.splits.isHidden()


def test_alike_rides_are_called_unclear_and_grey(qtbot: QtBot) -> None:
    with window_on(square_document()) as opened:
        laps_read(opened, qtbot)
        window = opened.window
        fold = window.laps.beside
        fold.head.setChecked(True)
        window.laps.choose(opened.desk.document.rides[1])
        wait_until(qtbot, lambda: rested(opened) and len(fold.sheets) == 3)
        others = [ride.id for ride in fold._rides]
        fold.rides.selectRow(others.index(opened.desk.document.rides[0].id))
        found = fold.comparison()
        assert found is not None
        unclear = [n for n, one in enumerate(found.splits) if not one.clear]
        assert unclear
        for number, one in enumerate(found.splits):
            item = fold.splits.item(number, 3)
            assert item is not None
            grey = item.foreground().color() == window.look.colour("faint_ink")
            assert grey is not one.clear
            assert (item.text() == "unclear") is not one.clear
            assert "standard error" in item.toolTip()


def test_what_was_gathered_goes_with_the_ground(qtbot: QtBot) -> None:
    with window_on(square_document()) as opened:
        laps_read(opened, qtbot)
        fold, desk = opened.window.laps.beside, opened.desk
        fold.head.setChecked(True)
        wait_until(qtbot, lambda: rested(opened) and len(fold.sheets) == 3)
        gone = desk.document.rides[0].id
        desk.apply("Remove a ride", lambda d: edits.remove_ride(d, gone))
        wait_until(qtbot, lambda: rested(opened) and len(fold.sheets) == 2)
        assert gone not in fold.sheets
        assert fold.rides.rowCount() == 2


def test_corners_are_told_lap_by_lap(qtbot: QtBot) -> None:
    with window_on(square_document()) as opened:
        laps_read(opened, qtbot)
        fold, sheet = opened.window.laps.corners, opened.desk.ridden.sheet
        assert sheet is not None
        assert len(fold.found) >= 3
        fold.head.setChecked(True)
        assert fold.table.rowCount() == len(fold.found)
        fold.table.selectRow(1)
        corner = fold.found[1]
        shown = [fold.laps.item(n, 2) for n in range(fold.laps.rowCount())]
        lowest = [float(item.text()) for item in shown if item is not None]
        np.testing.assert_allclose(lowest, np.array(corner.lowest_mps) * 3.6, atol=0.051)
        assert len(lowest) == sum(lap.complete for lap in sheet.laps)


def test_level_ground_shows_no_climbs_and_sections_tile_the_lap(qtbot: QtBot) -> None:
    with window_on(square_document()) as opened:
        laps_read(opened, qtbot)
        place, sheet = opened.window.laps, opened.desk.ridden.sheet
        assert sheet is not None
        assert place.climbs.isHidden()
        whole = next(lap for lap in sheet.laps if lap.complete)
        assert place.sections.table.rowCount() == 0  # closed: nobody waits for its rows
        place.sections.head.setChecked(True)
        assert place.sections.table.rowCount() == len(whole.splits)


def test_a_ride_left_out_is_counted_again_by_the_button(qtbot: QtBot) -> None:
    with window_on(square_document()) as opened:
        laps_read(opened, qtbot)
        last = opened.desk.document.rides[-1]
        opened.desk.apply("Leave out", lambda d: edits.hide_ride(d, last.id, hidden=True))
        wait_until(qtbot, lambda: rested(opened))
        opened.window.laps.choose(last)
        wait_until(qtbot, lambda: rested(opened))
        fold = opened.window.laps.covered
        assert not fold.take_in.isHidden()
        assert "left out" in fold.counts.text()
        before = fold.table.item(0, 2)
        assert before is not None
        less = before.text()
        fold.take_in.click()
        wait_until(qtbot, lambda: rested(opened))
        assert not opened.desk.document.rides[-1].hidden
        assert opened.desk.workspace.undo_label == "Count a ride in the season"
        assert fold.take_in.isHidden()
        after = fold.table.item(0, 2)
        assert after is not None
        assert float(after.text().split()[0]) > float(less.split()[0])


def test_tagging_begins_with_the_ride_in_view(qtbot: QtBot) -> None:
    with window_on(square_document()) as opened:
        laps_read(opened, qtbot)
        window = opened.window
        ride = opened.desk.document.rides[0]
        window.laps.choose(ride)
        wait_until(qtbot, lambda: rested(opened))
        window.laps.covered.tag.click()
        assert window.place == "ground"
        flow = window.ground.tag_ride
        assert window.ground.currentWidget() is flow
        assert ride.track.name in flow.title.text()
        assert flow.parts


def line_of(xy: Floats) -> SavedLoop:
    """A loop along local metres, where the invented square lies."""
    lat, lon = to_degrees(square().network.origin, xy)
    return SavedLoop(
        name="a loop", line=np.column_stack((lon, lat, 0 * lon)), wishes=WISHES, score=0, match=0
    )


def test_the_loop_a_ride_fits_best_is_chosen_and_a_close_one_kept() -> None:
    (track,) = lap_rides(square(), rides=1, laps=4)
    ring = square().network.stretches[0].xy
    own, alike = line_of(ring), line_of(ring + 3.0)
    half = line_of(np.vstack((ring[: len(ring) // 2], ring[:1])))
    away = line_of(ring + 2000.0)
    assert best_fitting(track, [away, half, own], half) is own
    assert best_fitting(track, [away, half, own], None) is own
    assert best_fitting(track, [own, alike], alike) is alike
    assert best_fitting(track, [away], None) is None
    assert best_fitting(track, [], half) is half


def test_only_likely_rides_are_read() -> None:
    (ride,) = square_document().rides[:1]
    line = np.column_stack((ride.track.lon, ride.track.lat))
    assert may_have_ridden(ride, line)
    # A hundredth of a degree of latitude is 1.1 km.
    assert not may_have_ridden(ride, line + np.array([0.0, 0.01]))
    far = line.copy()
    far[len(far) // 2 :, 1] += 0.01
    assert not may_have_ridden(ride, far)


def test_whether_a_ride_counts_is_said() -> None:
    (ride,) = square_document().rides[:1]
    assert "counts" in counted_words(ride)
    assert "does not count" in counted_words(replace(ride, hidden=True))
    assert "race lap" in counted_words(replace(ride, role=RideRole.RACE)).lower()
