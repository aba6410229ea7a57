"""The state of the ground to plan for, chosen for a search: it changes the score and is told."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import QDate, Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from app_help import PIPELINE, WISHES, found, ladder_document, rested, wait_until, window_on
from loopwright.app.ground_state import states
from loopwright.app.opening import Opened
from loopwright.cards import ground_state
from loopwright.cli.main import main
from loopwright.edits import add_tags, set_season, set_wishes
from loopwright.features.replay import line_of
from loopwright.io.area_file import load_area, save_area
from loopwright.model.document import Document
from loopwright.model.ground import Tag
from loopwright.model.ids import Way
from loopwright.model.season import Race, SeasonPlan, SeasonWishes
from loopwright.model.wishes import Mix

MARCH, JULY = date(2031, 3, 9), date(2031, 7, 4)
MUDDY = Mix(name="muddy", targets={"ground_m:mud": 300.0})


def seasons() -> Document:
    """The ladder with mud all over in March and dry dirt in July; the search wants mud."""
    document = set_wishes(ladder_document(), replace(WISHES, mix=MUDDY, count=1))
    terrain = PIPELINE.terrain(document)
    lines = [
        line_of(terrain, (s.id, Way.FORWARD), from_m=0.0, to_m=terrain.lengths_m[s.id])
        for s in terrain.network.stretches
    ]
    tags = [Tag(line=line, surface="mud", on=MARCH) for line in lines]
    return add_tags(document, tags + [Tag(line=line, surface="dirt", on=JULY) for line in lines])


def chosen(opened: Opened, qtbot: QtBot, words: str) -> float:
    """Choose a state as the keyboard does; the score of the best loop then."""
    state = opened.window.loops.state
    state.choice.setFocus()
    place = next(n for n in range(state.choice.count()) if words in state.choice.itemText(n))
    while state.choice.currentIndex() != place:
        before = state.choice.currentIndex()
        QTest.keyClick(state.choice, Qt.Key.Key_Down if place > before else Qt.Key.Key_Up)
        wait_until(qtbot, lambda: rested(opened))
    wait_until(qtbot, lambda: found(opened))
    return opened.desk.candidates[0].loop.score


def test_the_state_chosen_for_a_search_changes_its_score(qtbot: QtBot) -> None:
    with window_on(seasons()) as opened:
        wait_until(qtbot, lambda: found(opened))
        desk, state = opened.desk, opened.window.loops.state
        offered = [state.choice.itemText(n) for n in range(state.choice.count())]
        assert offered == [
            "the newest words", "July 2031: dirt", "March 2031: mud", "a day I choose",
        ]  # fmt: skip
        newest = desk.candidates[0].loop.score
        assert state.day.isHidden()
        wet = chosen(opened, qtbot, "March")
        assert desk.document.settings.plan_for == MARCH
        assert wet == pytest.approx(newest + 100.0, abs=1.0)
        opened.window.do("undo")
        wait_until(qtbot, lambda: found(opened))
        assert chosen(opened, qtbot, "newest") == pytest.approx(newest, abs=0.01)


def test_a_day_of_ones_own_goes_by_the_season(qtbot: QtBot) -> None:
    with window_on(seasons()) as opened:
        wait_until(qtbot, lambda: found(opened))
        desk, state = opened.desk, opened.window.loops.state
        state.today = lambda: date(2032, 7, 1)
        dry = chosen(opened, qtbot, "a day")
        assert desk.document.settings.plan_for == date(2032, 7, 1)
        assert not state.day.isHidden()
        state.day.setDate(QDate(2032, 3, 20))
        wait_until(qtbot, lambda: found(opened))
        assert desk.candidates[0].loop.score > dry + 90
        assert "20 March 2032" in opened.window.ground.planned.text()
        assert ground_state(desk.document) == "tags of 4 July 2031, planned for 20 March 2032"


def test_race_day_is_offered_first() -> None:
    races = (Race(name="Invented Cup", on=date(2031, 5, 18)),)
    plan = SeasonPlan(wishes=SeasonWishes(races=races), sessions=())
    words, on = next(states(set_season(seasons(), plan)))
    assert (words, on) == ("Invented Cup, 18 May 2031", races[0].on)


def test_the_command_plans_for_a_day_and_keeps_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    area, out, mix = (tmp_path / name for name in ("a.loopwright", "a.json", "mix.json"))
    save_area(seasons(), area)
    mix.write_text(json.dumps({"targets": dict(MUDDY.targets)}))
    scores = []
    for day in ("2031-07-10", "2032-03-20", "newest"):
        words = ["--mix", str(mix), "--length", "0.4-1.2", "--count", "1", "--plan-for", day]
        assert main(["find", str(area), *words, "--json", str(out)]) == 0
        answer = json.loads(out.read_text())
        scores.append(answer["loops"][0]["score"])
        kept = load_area(area).settings.plan_for
        assert answer["plan_for"] == (None if day == "newest" else day)
        assert kept == (None if day == "newest" else date.fromisoformat(day))
    assert np.round(scores[1] - scores[0]) == 100
    assert scores[2] == pytest.approx(scores[0])
    assert "Ground as on 20 March 2032." in capsys.readouterr().out
    assert main(["find", str(area), "--plan-for", "spring"]) == 2
    assert "--plan-for: 'spring' is not a date" in capsys.readouterr().err
