"""Cards by geometry: nothing touches, nothing leaves the page, whatever the loop."""

from __future__ import annotations

import re
from functools import cache
from typing import get_args

import numpy as np
import pytest

from card_help import NAMES, card_picture, course, faults, plan, sheet
from loopwright.card import PAPERS, Ask, CardInput, SessionWords, card_pages
from loopwright.card.boxes import text_box
from loopwright.card.foot_panel import CAUTIONS, SHORT_CAUTIONS
from loopwright.card.map_panel import open_parts
from loopwright.card.page_style import POINT_MM
from loopwright.card.sheet import Paper
from loopwright.geo.polyline import length_m
from loopwright.model.course import mark_m
from loopwright.model.ground import FeatureKind
from loopwright.model.picture import Disc, Line, Picture, Shape, Text, side_by_side
from loopwright.model.season import DayLabel
from loopwright.units import Units

SEEDS = range(50)
ISO_216_MM = {"A4": (210.0, 297.0), "A5": (148.0, 210.0)}
"""ISO 216:2007, sizes of the A series (from memory)."""


def words_of(picture: Picture) -> list[str]:
    return [mark.words for mark in picture.marks if isinstance(mark, Text)]


def numbers_on(picture: Picture) -> list[Disc]:
    return [mark for mark in picture.marks if isinstance(mark, Disc) and mark.layer == "numbers"]


def rows_on(picture: Picture) -> list[Disc]:
    return [mark for mark in picture.marks if isinstance(mark, Disc) and mark.layer == "rows"]


def count_of(seed: int) -> int:
    """From 3 to 40 features, every count met."""
    return 3 + seed * 37 % 38


@cache
def seeded_pages(seed: int, paper: Paper) -> tuple[Picture, ...]:
    given = sheet(seed, features=count_of(seed), name=NAMES[seed % len(NAMES)])
    return card_pages(given, paper=paper)


def seeded(seed: int, paper: Paper) -> Picture:
    return side_by_side(seeded_pages(seed, paper))


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("seed", SEEDS)
def test_no_text_touches_and_nothing_leaves_the_page(seed: int, paper: Paper) -> None:
    assert [fault for page in seeded_pages(seed, paper) for fault in faults(page)] == []


def test_the_seeds_meet_every_count_of_features_from_3_to_40() -> None:
    assert {count_of(seed) for seed in SEEDS} == set(range(3, 41))


@pytest.mark.parametrize("paper", ["A4", "A5"])
def test_pages_have_standard_sizes(paper: Paper) -> None:
    for features in (3, 40):
        for page in card_pages(sheet(features=features), paper=paper):
            assert (page.width_mm, page.height_mm) == ISO_216_MM[paper]


@pytest.mark.parametrize("paper", ["A4", "A5"])
@pytest.mark.parametrize("features", [3, 17, 40])
def test_number_labels_do_not_cover_each_other(features: int, paper: Paper) -> None:
    picture = card_picture(sheet(5, features=features), paper=paper)
    discs = numbers_on(picture)
    assert len(discs) == 2 * len(rows_on(picture))  # map and profile
    spots = np.array([(disc.x, disc.y) for disc in discs])
    gap = np.hypot(*(spots[:, None] - spots[None]).T)
    np.fill_diagonal(gap, np.inf)
    assert gap.min() >= 2 * min(disc.radius_mm for disc in discs)


@pytest.mark.parametrize("features", [3, 12, 26, 40])
@pytest.mark.parametrize("paper", ["A4", "A5"])
def test_up_to_forty_features_are_all_listed(features: int, paper: Paper) -> None:
    picture = card_picture(sheet(11, features=features), paper=paper)
    for number in range(1, features + 1):
        assert words_of(picture).count(str(number)) >= 3  # map, profile, table
    assert not any("shapes alone" in words for words in words_of(picture))


@pytest.mark.parametrize("features", [5, 33, 90])
@pytest.mark.parametrize("paper", ["A4", "A5"])
def test_numbers_are_those_of_the_loop_and_the_same_everywhere(features: int, paper: Paper) -> None:
    given = sheet(2, features=features)
    picture = card_picture(given, paper=paper)
    inside = {
        layer: [
            int(mark.words)
            for mark in picture.marks
            if isinstance(mark, Text) and mark.layer == layer and mark.words.isdigit() and mark.bold
        ]
        for layer in ("numbers", "rows")
    }
    assert len(inside["rows"]) == min(features, 40)
    assert inside["rows"] == sorted(inside["rows"])
    assert sorted(inside["numbers"]) == sorted(inside["rows"] * 2)
    if features > 40:  # those left out keep their numbers too
        assert inside["rows"] != list(range(1, 41))
    assert set(inside["rows"]) <= {f.number for f in given.course.features}


@pytest.mark.parametrize("paper", ["A4", "A5"])
def test_numbers_follow_the_riding_order_on_the_profile(paper: Paper) -> None:
    picture = card_picture(sheet(2, features=38), paper=paper)
    low = min(
        mark.y for mark in picture.marks if isinstance(mark, Text) and mark.words == "Profile"
    )
    found = sorted(
        (mark.x, int(mark.words))
        for mark in picture.marks
        if isinstance(mark, Text) and mark.layer == "numbers" and mark.y > low
    )
    assert [number for _, number in found] == list(range(1, 39))


def test_the_strip_numbers_as_the_upright_pages_do() -> None:
    strip = {m.words for m in card_picture(sheet(4, features=35), paper="strip").marks
             if isinstance(m, Text) and m.layer == "rows"}  # fmt: skip
    given = sheet(4, features=35)
    ordered = sorted(given.course.features, key=lambda f: (mark_m(f), f.number))
    assert {int(words) for words in strip} <= set(range(1, len(ordered) + 1))
    assert max(int(words) for words in strip) > len(strip)


def rows_em(pages: tuple[Picture, ...]) -> list[float]:
    """Em heights of what stands in the rows of the table."""
    return [
        mark.size_mm
        for page in pages
        for mark in page.marks
        if isinstance(mark, Text) and mark.layer == "cells"
    ]


@pytest.mark.parametrize("seed", SEEDS)
def test_rows_on_a5_have_nine_points_and_never_under_eight(seed: int) -> None:
    # x-height of 0.2 degrees reads at full speed: Legge and Bigelow 2011, doi 10.1167/11.5.8.
    sizes = rows_em(seeded_pages(seed, "A5"))
    assert sizes
    assert min(sizes) >= (9.0 if count_of(seed) <= 15 else 8.0) * POINT_MM - 1e-9


def test_a_few_features_need_no_second_page() -> None:
    assert len(card_pages(sheet(1, features=5), paper="A5")) == 1
    front, back = card_pages(sheet(1, features=30), paper="A5")
    assert "Targets" not in words_of(front)
    assert "Targets" in words_of(back)
    assert SHORT_CAUTIONS in " ".join(words_of(back))


def test_attributions_are_always_whole() -> None:
    owed = (
        "\u00a9 OpenStreetMap contributors, Open Database License",
        "Heights: somebody, CC BY 4.0",
    )
    for paper in PAPERS:
        said = " ".join(words_of(card_picture(sheet(attributions=owed), paper=paper)))
        assert all(f"{one}." in said for one in owed)


@pytest.mark.parametrize("paper", PAPERS)
def test_what_is_left_out_is_counted(paper: Paper) -> None:
    picture = card_picture(sheet(2, features=90), paper=paper)
    assert faults(picture) == []
    said = next(words for words in words_of(picture) if re.match(r"and \d+ more(,| on the)", words))
    assert int(said.split()[1]) + len(rows_on(picture)) == 90


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("paper", ["A4", "A5"])
def test_names_in_any_script_are_printed_whole(name: str, paper: Paper) -> None:
    said = " ".join(words_of(card_picture(sheet(name=name), paper=paper)))
    assert name in said


def test_an_endless_name_is_cut_with_an_ellipsis_and_kept_whole_in_the_title() -> None:
    name = "wood " * 60
    picture = card_picture(sheet(name=name), paper="A5")
    assert faults(picture) == []
    assert any(words.startswith("wood") and words.endswith("…") for words in words_of(picture))
    assert picture.title.startswith(name.strip())


@pytest.mark.parametrize("paper", PAPERS)
def test_cautions_are_always_there_and_whole(paper: Paper) -> None:
    said = " ".join(words_of(card_picture(sheet(3, features=40), paper=paper)))
    assert (CAUTIONS if paper == "A4" else SHORT_CAUTIONS) in said


@pytest.mark.parametrize("paper", PAPERS)
def test_invented_ground_says_so_and_real_ground_does_not(paper: Paper) -> None:
    made_up = " ".join(words_of(card_picture(sheet(invented=True), paper=paper)))
    real = " ".join(words_of(card_picture(sheet(invented=False), paper=paper)))
    assert "INVENTED GROUND" in made_up
    assert "INVENTED" not in real


@pytest.mark.parametrize("paper", PAPERS)
def test_the_barest_card_has_no_faults(paper: Paper) -> None:
    bare = CardInput(course=course(4, features=0, heights=False), name="")
    picture = card_picture(bare, paper=paper)
    assert faults(picture) == []
    assert "Unnamed loop" in words_of(picture)


def test_without_heights_the_card_says_so_and_draws_no_profile() -> None:
    picture = card_picture(sheet(course=course(4, heights=False)))
    assert any("No heights" in words for words in words_of(picture))
    assert not any(words.startswith("Ascent") for words in words_of(picture))


@pytest.mark.parametrize("paper", PAPERS)
def test_imperial_cards_hold_no_metric_units(paper: Paper) -> None:
    said = words_of(
        card_picture(sheet(4, features=20, units=Units.IMPERIAL, ascent_scale=""), paper=paper)
    )
    assert any("mi" in words.split() for words in said)
    assert not any({"km", "m", "km/h"} & set(words.split()) for words in said)


def test_a_hidden_start_leaves_no_gate_no_code_and_no_start_label() -> None:
    picture = card_picture(sheet(hide_start=True))
    assert "START" not in words_of(picture)
    assert not {"gate", "code"} & {mark.layer for mark in picture.marks}


def test_a_private_circle_keeps_loop_features_and_start_off_the_map() -> None:
    lap = course(1, features=20)
    east, north = lap.xy[0].tolist()
    given = sheet(course=lap, plan=plan(lap), private=(east, north, 250.0), background=())
    parts = open_parts(given)
    assert min(np.hypot(*(part - lap.xy[0]).T).min() for part in parts) > 250.0
    picture = card_picture(given)
    loops = [m for m in picture.marks if isinstance(m, Line) and m.layer == "loop"]
    assert len(loops) == len(parts) == 1
    # Open ends on the page are as far apart as the open ends on the ground: nothing is joined up.
    ground, page = (np.hypot(*(line[0] - line[-1])) for line in (parts[0], loops[0].points))
    scale = length_m(loops[0].points) / length_m(parts[0])
    assert page == pytest.approx(ground * scale, rel=0.01)
    assert ground > 250.0
    assert given.hide_start
    assert not {"gate", "code"} & {mark.layer for mark in picture.marks}
    marks = [m for m in picture.marks if isinstance(m, Shape) and m.layer == "features"]
    places = lap.xy[[int(np.searchsorted(lap.dist_m, mark_m(f))) for f in lap.features]]
    assert len(marks) == np.count_nonzero(np.hypot(*(places - lap.xy[0]).T) > 250.0)


def test_an_easy_day_shows_no_times_to_chase() -> None:
    session = SessionWords(label=DayLabel.RECOVERY, kind="easy spin", laps=1, rest_minutes=0)
    said = words_of(card_picture(sheet(session=session)))
    assert "RECOVERY" in said
    assert "split" not in said
    assert "hold" in said


def test_many_asks_and_surfaces_are_summed_up_not_dropped() -> None:
    asks = tuple(Ask(kind=f"kind_{i}", wanted=10, given=i) for i in range(14))
    ground = dict.fromkeys(("dirt", "rock", "grass", "sand", "mud", "gravel", "wood"), 100.0)
    picture = card_picture(sheet(asks=asks, ground_m=ground), paper="A5")
    assert faults(picture) == []
    assert any("more amount" in words for words in words_of(picture))
    assert any("more surface" in words for words in words_of(picture))


def test_same_input_same_marks() -> None:
    first, second = (card_picture(sheet(9, features=22)) for _ in range(2))
    assert repr(first.marks) == repr(second.marks)


@pytest.mark.parametrize("paper", PAPERS)
def test_least_text_is_legible(paper: Paper) -> None:
    # Type of 6.5 pt and more (1 pt = 0.3528 mm); common practice, no source.
    sizes = [
        mark.size_mm
        for mark in card_picture(sheet(3, features=40), paper=paper).marks
        if isinstance(mark, Text)
    ]
    assert min(sizes) >= 6.5 * POINT_MM


def test_overlap_would_be_seen() -> None:
    twice = Text(x=20, y=20, words="here", size_mm=4)
    clash = Picture(width_mm=50, height_mm=50, marks=(twice, twice))
    over = Picture(width_mm=25, height_mm=50, marks=(twice,))
    assert len(faults(clash)) == 1
    assert len(faults(over)) == 1
    assert text_box(twice).width > 5


def test_the_map_never_draws_outside_its_frame() -> None:
    picture = card_picture(sheet(6, background=(course(6).xy * 5,)))
    frame = next(m for m in picture.marks if isinstance(m, Shape) and m.layer == "frame")
    low, high = frame.points.min(axis=0), frame.points.max(axis=0)
    for mark in picture.marks:
        if mark.layer in {"trails", "loop", "casing", "arrows", "gate"} and hasattr(mark, "points"):
            assert (mark.points >= low - 1e-6).all()
            assert (mark.points <= high + 1e-6).all()


@pytest.mark.parametrize("seed", SEEDS)
def test_north_and_scale_never_cover_the_loop(seed: int) -> None:
    for paper in get_args(Paper)[:2]:
        picture = seeded(seed, paper)
        back = next(m for m in picture.marks if isinstance(m, Shape) and m.layer == "furniture")
        low, high = back.points.min(axis=0), back.points.max(axis=0)
        for mark in picture.marks:
            if mark.layer == "loop" and hasattr(mark, "points"):
                assert not ((mark.points > low) & (mark.points < high)).all(axis=1).any()


@pytest.mark.parametrize("paper", ["A4", "A5"])
def test_a_session_of_its_own_kind_lists_what_it_asks_for_with_its_targets(paper: Paper) -> None:
    asks = (Ask(kind="steep_gain_m", wanted=80, given=60),)
    session = SessionWords(label=DayLabel.TRAINING, kind="climbing torque", laps=5, rest_minutes=6)
    given = sheet(11, features=40, asks=asks, session=session)
    picture = card_picture(given, paper=paper)
    steep = [f for f in given.course.features if f.kind is FeatureKind.STEEP_CLIMB]
    assert len(rows_on(picture)) == max(12, len(steep))
    assert sum("rpm" in words for words in words_of(picture)) >= len(steep)
