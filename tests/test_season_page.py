"""The season page: everything on the paper, nothing over anything else."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from loopwright.model.ids import RideId
from loopwright.model.picture import Picture, Shape, Text
from loopwright.model.season import DayLabel, Race, RiddenLaps, SeasonPlan, SeasonWishes
from loopwright.season import CAUTION, hold_loop, plan_season, relabel, season_pages

TODAY = date(2030, 3, 4)


def _plan(weeks: int) -> SeasonPlan:
    on = TODAY + timedelta(days=7 * weeks - 1)
    return plan_season(
        SeasonWishes(races=(Race(name="Sandreth Heath", on=on),), weeks=weeks), TODAY
    )


def _words(page: Picture) -> list[str]:
    return [mark.words for mark in page.marks if isinstance(mark, Text)]


@pytest.mark.parametrize(("weeks", "pages"), [(1, 1), (12, 1), (13, 1), (14, 2), (40, 4)])
def test_thirteen_weeks_a_page(weeks: int, pages: int) -> None:
    assert len(season_pages(_plan(weeks), name="Quillmark")) == pages


def test_every_day_is_there_once_and_the_race_is_named() -> None:
    plan = _plan(12)
    (page,) = season_pages(plan, name="Quillmark")
    cells = [mark for mark in page.marks if isinstance(mark, Shape)]
    assert len(cells) == sum(s.minutes > 0 for s in plan.sessions)
    assert any("race: Sandreth Heath" in words for words in _words(page))
    assert any(words.startswith("Season, Quillmark") for words in _words(page))
    assert CAUTION in _words(page)


def test_nothing_leaves_the_page_and_no_cell_covers_another() -> None:
    for page in season_pages(_plan(20), name="Quillmark", invented=True):
        boxes = []
        for mark in page.marks:
            if isinstance(mark, Shape):
                low, high = mark.points.min(axis=0), mark.points.max(axis=0)
                assert low.min() >= 0
                assert high[0] <= page.width_mm
                assert high[1] <= page.height_mm - 8.0
                boxes.append((low, high))
            if isinstance(mark, Text):
                assert 0 < mark.y < page.height_mm
                left = mark.x - (mark.max_width_mm if mark.anchor == "right" else 0.0)
                right = mark.x + (mark.max_width_mm if mark.anchor == "left" else 0.0)
                assert left >= 0
                assert right <= page.width_mm
        for k, (low, high) in enumerate(boxes):
            for other_low, other_high in boxes[k + 1 :]:
                apart = (high <= other_low).any() or (other_high <= low).any()
                assert apart


def test_words_stay_in_their_rows() -> None:
    (page,) = season_pages(_plan(13), name="Quillmark")
    shapes = [mark for mark in page.marks if isinstance(mark, Shape)]
    for mark in page.marks:
        if not isinstance(mark, Text):
            continue
        inside = [
            s for s in shapes
            if s.points[:, 0].min() <= mark.x <= s.points[:, 0].max()
            and s.points[:, 1].min() <= mark.y - mark.size_mm / 2 <= s.points[:, 1].max()
        ]  # fmt: skip
        for shape in inside:
            assert mark.y + 0.25 * mark.size_mm <= shape.points[:, 1].max() + 1e-9
            assert mark.y - 0.8 * mark.size_mm >= shape.points[:, 1].min() - 1e-9


def test_hard_days_have_a_heavy_frame_without_colour() -> None:
    plan = _plan(12)
    (page,) = season_pages(plan, name="Quillmark")
    heavy = [m for m in page.marks if isinstance(m, Shape) and m.width_mm > 0.5]
    assert len(heavy) == sum(s.hard for s in plan.sessions)


def test_open_days_ask_and_chosen_loops_show_and_invented_says_so() -> None:
    plan = _plan(12)
    hard = next(s.on for s in plan.sessions if s.hard)
    plan = hold_loop(relabel(plan, TODAY, DayLabel.OPEN), hard, "Kettle Round")
    (page,) = season_pages(plan, name="Quillmark", invented=True)
    words = _words(page)
    assert "training or recovery?" in words
    assert "Kettle Round" in words
    assert any("Invented data" in line for line in words)


def test_no_plan_no_page() -> None:
    plan = SeasonPlan(wishes=SeasonWishes(races=()), sessions=())
    assert season_pages(plan, name="x") == ()


@pytest.mark.parametrize(
    ("ridden", "words"),
    [
        (RiddenLaps(ride=RideId("r"), loop="Larch", laps=3, best_s=605.0), "3 laps, best 10:05"),
        (RiddenLaps(ride=RideId("r"), loop="Larch", laps=1), "1 lap"),
        (RiddenLaps(ride=RideId("r"), loop="Larch", laps=0), "Fernloop"),
        (None, "Fernloop"),
    ],
)
def test_a_day_that_was_ridden_says_what_was_ridden(ridden: RiddenLaps | None, words: str) -> None:
    plan = _plan(3)
    day = next(s for s in plan.sessions if s.label is DayLabel.TRAINING)
    told = replace(day, loop="Fernloop", rating_cr10=7.5, minutes=62.4, laps=4, ridden=ridden)
    sessions = tuple(told if s is day else s for s in plan.sessions)
    (page,) = season_pages(replace(plan, sessions=sessions), name="Quillmark")
    assert {"62 min, felt 7.5 of 10", words} <= set(_words(page))
