"""Words, measures and the square code of the card."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date

import numpy as np
import pytest
import segno
from hypothesis import given
from hypothesis import strategies as st

from card_help import card_picture, course, plan, sheet
from loopwright.card.boxes import Box
from loopwright.card.contents import content_for, is_wanted
from loopwright.card.furniture import nice_length
from loopwright.card.head_panel import session_lines
from loopwright.card.measure import advances, fit, width_mm, wrap
from loopwright.card.sheet import Ask, SessionWords
from loopwright.card.square_code import code_marks, geo_address
from loopwright.card.table_rows import table_for, whole_split
from loopwright.card.words import (
    amount_words,
    brief_words,
    date_words,
    feature_words,
    kind_words,
    per_km_of,
    plural,
)
from loopwright.model.course import CourseFeature
from loopwright.model.ground import AMOUNT_KINDS, EXTRA_KINDS, FeatureKind
from loopwright.model.picture import Shape, Text
from loopwright.model.rider import SplitTarget
from loopwright.model.season import DayLabel
from loopwright.units import Units

TEXTS = st.text(alphabet=st.characters(codec="utf-8", categories=["L", "N", "P", "Zs"]))


@given(TEXTS, st.floats(1, 10), st.floats(0, 80))
def test_fitted_words_are_never_wider_than_the_room(words: str, size: float, room: float) -> None:
    assert width_mm(fit(words, size, room), size) <= room + 1e-9 or fit(words, size, room) == ""


def test_shortened_words_keep_as_much_as_fits() -> None:
    words = "abcdefghijklmnopqrstuvwxyz"
    short = fit(words, 2.0, 12.0)
    assert words.startswith(short[:-1])
    longer = words[: len(short)] + "…"
    assert width_mm(short, 2.0) <= 12.0 < width_mm(longer, 2.0)


@given(st.lists(TEXTS, max_size=12), st.floats(20, 80))
def test_wrapped_lines_fit_and_keep_every_word(parts: list[str], room: float) -> None:
    words = " ".join(parts)
    lines = wrap(words, 2.0, room)
    assert all(width_mm(line, 2.0) <= room + 1e-9 for line in lines)
    if "…" not in "".join(lines):
        assert " ".join(lines).split() == words.split()


@pytest.mark.parametrize("bold", [False, True])
def test_figures_all_have_one_width(bold: bool) -> None:  # noqa: FBT001 - a parametrised case
    assert len({advances(bold)[digit] for digit in "0123456789"}) == 1


def test_marks_that_combine_take_no_room_and_unknown_letters_take_a_full_em() -> None:
    assert width_mm("e\u0301", 10) == width_mm("e", 10)
    assert width_mm("周", 10) == 10


@pytest.mark.parametrize("kind", [*AMOUNT_KINDS, *EXTRA_KINDS, "ground_m:fine_gravel"])
def test_every_amount_has_plain_words(kind: str) -> None:
    assert "_" not in kind_words(kind)
    assert ":" not in kind_words(kind)


def test_amounts_carry_units_only_where_they_are_lengths() -> None:
    assert amount_words("corners", 12, Units.METRIC) == "12"
    assert amount_words("climb_gain_m", 120, Units.METRIC) == "120 m"
    assert amount_words("climb_gain_m", 30.48, Units.IMPERIAL) == "100 ft"


def test_features_are_named_by_what_tells_them_apart() -> None:
    corner = CourseFeature(
        number=1, kind=FeatureKind.CORNER, from_m=0, at_m=5, to_m=9, turn_deg=-131.4, tight=True
    )
    climb = CourseFeature(
        number=2, kind=FeatureKind.STEEP_CLIMB, from_m=0, at_m=0, to_m=99, gain_m=12.4,
        grade_mean=0.125,
    )  # fmt: skip
    straight = CourseFeature(number=3, kind=FeatureKind.STRAIGHT, from_m=10, at_m=10, to_m=92)
    assert feature_words(corner, Units.METRIC) == "tight corner, right 131°"
    assert feature_words(climb, Units.METRIC) == "steep climb, 12 m, 12 %"
    assert feature_words(straight, Units.METRIC) == "straight, 82 m"


def test_dates_cannot_be_misread() -> None:
    assert date_words(date(2026, 5, 12)) == "12 May 2026"


@pytest.mark.parametrize(
    ("kind", "label", "first"),
    [
        ("race simulation", DayLabel.TRAINING, "split"),
        ("cornering", DayLabel.TRAINING, "target"),
        ("climbing torque", DayLabel.TRAINING, "drive"),
        ("standing starts", DayLabel.TRAINING, "split"),
        ("sprints from corners", DayLabel.TRAINING, "split"),
        ("steady efforts", DayLabel.TRAINING, "effort"),
        ("look-ahead drill", DayLabel.TRAINING, "look"),
        ("easy spin", DayLabel.TRAINING, "effort"),
        ("race simulation", DayLabel.RECOVERY, "effort"),
    ],
)
def test_each_session_kind_shows_its_own_target_first(
    kind: str, label: DayLabel, first: str
) -> None:
    session = SessionWords(label=label, kind=kind, laps=3, rest_minutes=4)
    assert content_for(sheet(session=session)).columns[0] == first


def test_without_a_session_the_mix_decides() -> None:
    assert content_for(sheet(session=None, mix_name="cornering")).columns[0] == "target"


def test_only_tight_corners_count_when_only_tight_ones_are_asked_for() -> None:
    given_sheet = sheet(asks=(Ask(kind="tight_corners", wanted=5, given=2),))
    wide = CourseFeature(number=1, kind=FeatureKind.CORNER, from_m=0, at_m=1, to_m=2, turn_deg=60)
    assert is_wanted(replace(wide, tight=True), given_sheet)
    assert not is_wanted(wide, given_sheet)


def test_a_column_without_values_is_left_out() -> None:
    lap = course(3, features=10)
    bare = replace(plan(lap), splits=tuple(_plain(s) for s in plan(lap).splits))
    table = table_for(sheet(course=lap, plan=bare), content_for(sheet()))
    assert "drive" not in table.columns
    assert "target" not in table.columns
    assert "split" in table.columns


def _plain(split: SplitTarget) -> SplitTarget:
    return SplitTarget(
        number=split.number, name=split.name, from_m=split.from_m, to_m=split.to_m,
        time_s=split.time_s, low_s=split.low_s, high_s=split.high_s,
    )  # fmt: skip


def test_a_split_cut_short_by_a_feature_inside_is_made_whole() -> None:
    lap = course(3, features=0)
    climb = CourseFeature(number=1, kind=FeatureKind.CLIMB, from_m=100, at_m=100, to_m=600)
    cut = SplitTarget(number=1, name="climb", from_m=100, to_m=150, time_s=10, low_s=9, high_s=12)
    whole = whole_split(climb, cut, plan(lap))
    assert whole is not None
    assert whole.time_s == pytest.approx(100.0)  # 500 m at the 5 m/s of the plan
    assert (whole.low_s, whole.high_s) == pytest.approx((90.0, 120.0))


def test_session_lines_go_from_full_to_nothing() -> None:
    session = SessionWords(
        label=DayLabel.TRAINING, kind="", laps=4, rest_minutes=5, effort_cr10=(6, 7)
    )
    lines = session_lines(session)
    assert lines[0] == "4 laps, 5 min easy between, effort 6–7 of 10"  # noqa: RUF001 - en dash
    assert lines[-1] == ""
    widths = [width_mm(line, 3) for line in lines]
    assert widths == sorted(widths, reverse=True)


@pytest.mark.parametrize(
    ("room_m", "units", "words"),
    [
        (730, Units.METRIC, "500 m"),
        (2000, Units.METRIC, "2 km"),
        (19.9, Units.METRIC, "10 m"),
        (730, Units.IMPERIAL, "0.2 mi"),
        (100, Units.IMPERIAL, "200 ft"),
    ],
)
def test_scale_bars_are_round_lengths(room_m: float, units: Units, words: str) -> None:
    length_m, said = nice_length(room_m, units)
    assert said == words
    assert length_m <= room_m


def test_geo_addresses_follow_the_standard() -> None:
    # RFC 5870, section 3.3: coord-a "," coord-b in decimal degrees, latitude first; -0 is 0.
    pattern = re.compile(r"geo:-?\d+(\.\d+)?,-?\d+(\.\d+)?\Z")
    assert geo_address(47.11234, 11.52345) == "geo:47.11234,11.52345"
    assert geo_address(-0.000001, 179.999999) == "geo:0.00000,180.00000"
    assert pattern.match(geo_address(-89.5, -0.25))


def test_the_square_code_is_drawn_module_by_module_with_its_quiet_zone() -> None:
    # ISO/IEC 18004: a quiet zone of four modules on every side.
    box = Box(left=10, top=20, width=33, height=33)
    expected = np.array(segno.make("geo:47.11234,11.52345", error="m", micro=False).matrix)
    module = 33 / (len(expected) + 8)
    seen = np.zeros_like(expected)
    for mark in code_marks(47.11234, 11.52345, box):
        assert isinstance(mark, Shape)
        left, top = mark.points.min(axis=0)
        right = mark.points[:, 0].max()
        first, last = (round((x - 10) / module) - 4 for x in (left, right))
        seen[round((top - 20) / module) - 4, first:last] = 1
    assert (seen == expected).all()


def test_a_feature_the_plan_has_no_split_for_gets_its_time_and_the_laps_share() -> None:
    lap = course(3, features=0)
    straight = CourseFeature(number=4, kind=FeatureKind.STRAIGHT, from_m=200, at_m=200, to_m=300)
    found = whole_split(straight, None, plan(lap))
    assert found is not None
    assert found.time_s == pytest.approx(20.0)  # 100 m at the 5 m/s of the plan
    assert (found.low_s, found.high_s) == pytest.approx((19.2, 21.0))


def test_a_climb_names_its_steep_part_and_a_descent_its_rough_one() -> None:
    climb = CourseFeature(
        number=1, kind=FeatureKind.CLIMB, from_m=0, at_m=0, to_m=300, gain_m=30, grade_mean=0.1
    )
    steep = replace(climb, kind=FeatureKind.STEEP_CLIMB, from_m=100, to_m=180, grade_mean=0.16)
    words = "climb, 30 m, 10 %, steep 80 m at 16 %"
    assert feature_words(climb, Units.METRIC, (steep,)) == words
    assert brief_words(climb, Units.METRIC, (steep,)) == "30 m, 10\u201316 %"
    descent = replace(climb, kind=FeatureKind.DESCENT, grade_mean=-0.1)
    rough = replace(descent, kind=FeatureKind.ROUGH_DESCENT, from_m=250)
    assert feature_words(descent, Units.METRIC, (rough,)) == "descent, 30 m, 10 %, rough 50 m"
    assert brief_words(descent, Units.METRIC, (rough,)) == "30 m, rough"
    asks = (Ask(kind="steep_gain_m", wanted=80, given=60),)
    given_sheet = sheet(asks=asks, inside={1: (steep,)})
    assert is_wanted(climb, given_sheet)
    assert not is_wanted(replace(climb, number=2), given_sheet)


def test_a_copied_race_is_said_to_ask() -> None:
    said = [m.words for m in card_picture(sheet(mix_name="race: Invented Cup")).marks
            if isinstance(m, Text)]  # fmt: skip
    assert "Given, of what the race asks" in said


def test_density_is_told_by_amount_and_in_all() -> None:
    picture = card_picture(sheet())
    said = [mark.words for mark in picture.marks if isinstance(mark, Text)]
    assert "corners, 5.1 per km" in said
    assert "6.0/km" in said
    assert "71 % of the lap" in said
    assert per_km_of("climb_gain_m", {"climb": 0.5, "steep_climb": 1.0}) == 1.5
    assert per_km_of("tight_corners", {"corner": 5.0}) is None
    assert per_km_of("corners", {}) is None


@pytest.mark.parametrize(
    ("count", "noun", "words"),
    [(0, "lap", "0 laps"), (1, "stretch", "1 stretch"), (2, "stretch", "2 stretches")],
)
def test_one_of_a_thing_is_told_as_one(count: int, noun: str, words: str) -> None:
    assert plural(count, noun) == words
