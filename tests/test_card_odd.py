"""Odd input: whatever people type and whatever loops they ride, the card holds."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from card_help import card_picture, course, faults, plan, sheet
from loopwright.card import PAPERS, Ask, SessionWords
from loopwright.card.sheet import Paper
from loopwright.model.picture import Text
from loopwright.model.season import DayLabel
from loopwright.units import Units

WORDS = st.text(max_size=120)


@settings(max_examples=25, deadline=None)
@given(
    paper=st.sampled_from(PAPERS),
    name=WORDS,
    area=WORDS,
    mix=WORDS,
    purpose=WORDS,
    attributions=st.lists(WORDS, max_size=4),
)
def test_any_words_people_type_keep_to_their_places(  # noqa: PLR0917 - drawn by hypothesis
    paper: Paper, name: str, area: str, mix: str, purpose: str, attributions: list[str]
) -> None:
    session = SessionWords(
        label=DayLabel.TRAINING, kind=mix, laps=6, rest_minutes=7.5, purpose=purpose
    )
    picture = card_picture(
        sheet(
            5, features=18, name=name, area=area, mix_name=mix, session=session,
            attributions=tuple(attributions), ground_state=area, ascent_scale=mix,
        ),
        paper=paper,
    )  # fmt: skip
    assert faults(picture) == []
    said = "".join(mark.words for mark in picture.marks if isinstance(mark, Text))
    assert said.replace("\u200c", "").replace("\u200d", "").isprintable()


@settings(max_examples=30, deadline=None)
@given(
    paper=st.sampled_from(PAPERS),
    wanted=st.lists(st.floats(0, 1e6), max_size=9),
    given_amount=st.floats(0, 1e7),
    metres=st.lists(st.floats(0, 1e6), max_size=8),
    units=st.sampled_from(list(Units)),
)
def test_any_amounts_keep_to_their_places(
    paper: Paper, wanted: list[float], given_amount: float, metres: list[float], units: Units
) -> None:
    kinds = ("climb_gain_m", "corners", "ground_m:very_new_surface", "straights", "easy_m") * 2
    asks = tuple(
        Ask(kind=k, wanted=w, given=given_amount) for k, w in zip(kinds, wanted, strict=False)
    )
    ground = {f"surface_{i}": value for i, value in enumerate(metres)}
    picture = card_picture(sheet(6, asks=asks, ground_m=ground, units=units), paper=paper)
    assert faults(picture) == []


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("length_m", [40.0, 400.0, 20_000.0, 95_000.0])
def test_loops_of_any_length(length_m: float, paper: Paper) -> None:
    lap = course(3, features=8, length_m=length_m)
    assert faults(card_picture(sheet(course=lap, plan=plan(lap), background=()), paper=paper)) == []


@pytest.mark.parametrize("stretch", [(30.0, 0.02), (0.02, 30.0), (0.0, 1.0)])
@pytest.mark.parametrize("paper", ["A4", "A5"])
def test_loops_as_thin_as_a_line(stretch: tuple[float, float], paper: Paper) -> None:
    lap = course(3, features=12)
    thin = replace(lap, xy=lap.xy * np.array(stretch))
    assert faults(card_picture(sheet(course=thin), paper=paper)) == []


@pytest.mark.parametrize("paper", PAPERS)
def test_heights_known_only_here_and_there(paper: Paper) -> None:
    lap = course(3)
    heights = lap.ele_m.copy()
    heights[10:300] = np.nan
    patchy = replace(lap, ele_m=heights)
    assert faults(card_picture(sheet(course=patchy), paper=paper)) == []


@pytest.mark.parametrize("paper", PAPERS)
def test_all_features_in_one_place(paper: Paper) -> None:
    lap = course(3, features=30)
    heap = replace(
        lap, features=tuple(replace(f, from_m=900.0, at_m=905.0, to_m=910.0) for f in lap.features)
    )
    picture = card_picture(sheet(course=heap, plan=plan(heap)), paper=paper)
    assert faults(picture) == []


@pytest.mark.parametrize("paper", PAPERS)
def test_a_long_session_line_is_shortened_in_whole_words(paper: Paper) -> None:
    session = SessionWords(
        label=DayLabel.RECOVERY, kind="", laps=12, rest_minutes=12.5, effort_cr10=(1, 3)
    )
    picture = card_picture(sheet(session=session, on=date(2026, 12, 28)), paper=paper)
    assert faults(picture) == []
    said = [mark.words for mark in picture.marks if isinstance(mark, Text)]
    assert any("12 laps" in words for words in said)


@pytest.mark.parametrize("paper", PAPERS)
def test_a_start_inside_the_private_circle_may_hide_the_whole_loop(paper: Paper) -> None:
    hidden = sheet(4, private=(0.0, 0.0, 1e6))
    picture = card_picture(hidden, paper=paper)
    assert faults(picture) == []
    assert not any(mark.layer in {"loop", "features", "gate"} for mark in picture.marks)
