"""The sheet of targets: tables, limits below them, and what follows from the rider's numbers."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from app_help import found, ladder_document, rested, wait_until, window_on
from loopwright.app.rider_dialog import RiderDialog
from loopwright.app.targets import TargetsDialog, sheets
from loopwright.model.rider import Rider
from loopwright.pacing import plan_lap
from loopwright.targets_told import (
    balance_words,
    climb_rows,
    corner_rows,
    cost_words,
    lap_words,
    split_rows,
    straight_rows,
)
from loopwright.units import Units
from test_pacing_lap import STRONG, hill_course

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot


def test_rows_say_what_the_plan_says() -> None:
    plan = plan_lap(hill_course(25.0), STRONG, laps=3)
    assert len(split_rows(plan)) == len(plan.splits)
    (climb, *_) = climb_rows(plan)
    assert climb[2].endswith(" W")
    assert climb[6].endswith(" N m")
    assert all(row[1].endswith(" mph") for row in corner_rows(plan, Units.IMPERIAL))
    assert straight_rows(plan)[0][5].endswith(" W")
    assert "3 laps" in balance_words(plan)
    assert "90 %" in lap_words(plan)
    assert cost_words(2.0, 3.25, -1.0, -1.0).endswith("-1 kg at the rims -1.0 s.")


def test_climbs_too_short_for_a_gear_are_left_out() -> None:
    plan = plan_lap(hill_course(25.0), STRONG)
    brief = replace(plan, splits=tuple(replace(one, time_s=1.0) for one in plan.splits))
    assert climb_rows(brief) == []
    assert len(split_rows(brief)) == len(plan.splits)


def test_without_power_columns_stay_empty() -> None:
    plan = plan_lap(hill_course(25.0), Rider())
    assert balance_words(plan) == ""
    assert all(row[4] == "" for row in split_rows(plan))
    assert [name for name, _, rows, _ in sheets(plan, Units.METRIC) if rows]


def test_the_sheet_works_for_several_laps_and_ends_with_its_loop(qtbot: QtBot) -> None:
    with window_on(ladder_document()) as opened:
        wait_until(qtbot, lambda: found(opened) and opened.desk.plan is not None)
        assert opened.desk.course is not None
        dialog = TargetsDialog(opened.window, opened.desk.course)
        dialog.show()
        wait_until(qtbot, lambda: rested(opened) and dialog.tabs.count() > 0)
        dialog.laps.setValue(3)
        wait_until(qtbot, lambda: rested(opened))
        for limit in ("no wind", "no drafting", "no tiredness beyond W'", "not a promise"):
            assert limit in dialog.foot.text()
        assert "kg at the rims" in dialog.head.text()
        opened.desk.show_loop(None)
        assert not dialog.isVisible()
        wait_until(qtbot, lambda: rested(opened))


@pytest.mark.parametrize(
    ("three", "twelve", "power", "told"),
    [
        (361.1, 277.8, 0.0, "critical power 250 w"),
        (300.0, 300.0, 0.0, "do not fit together"),
        (0.0, 278.0, 0.0, "different length"),
        (0.0, 0.0, 240.0, "critical power 240 w"),
        (0.0, 0.0, 0.0, "times and perceived effort only"),
    ],
)
def test_the_form_says_what_follows_from_the_watts(
    qtbot: QtBot, three: float, twelve: float, power: float, told: str
) -> None:
    with window_on(ladder_document()) as opened:
        dialog = RiderDialog(opened.window)
        dialog.three.setValue(three)
        dialog.twelve.setValue(twelve)
        dialog.power.setValue(power)
        assert told in dialog.follows.text().lower()
        dialog.close()
        wait_until(qtbot, lambda: rested(opened))
