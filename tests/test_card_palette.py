"""Colours and shapes: taken from their sources, told apart without colour, legible in grey."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from loopwright.card import palette
from loopwright.card.palette import DARK, FEATURE, LIGHT, SURFACE, VIK
from loopwright.card.profile_panel import grade_sign
from loopwright.card.shapes import outline, placed
from loopwright.model.ground import SURFACES, FeatureKind
from loopwright.model.picture import Line

VIK_ROWS = {
    0: (0.001328, 0.069836, 0.379529),
    4: (0.188606, 0.490191, 0.652599),
    8: (0.926482, 0.897173, 0.879687),
    12: (0.762724, 0.440055, 0.254764),
    16: (0.350423, 0.000061, 0.030499),
}
"""Rows 1, 65, 129, 193 and 256 of vik.txt, Crameri, Scientific colour maps."""
OKABE_ITO = {
    "orange": (230, 159, 0),
    "sky": (86, 180, 233),
    "green": (0, 158, 115),
    "yellow": (240, 228, 66),
    "blue": (0, 114, 178),
    "vermillion": (213, 94, 0),
    "purple": (204, 121, 167),
}
"""Okabe and Ito, Color Universal Design, figure 16 (from memory)."""


def lightness(colour: str) -> float:
    """CIE L* (CIE 15:2004) from relative luminance."""
    y = palette.luminance(colour)
    return 116 * y ** (1 / 3) - 16 if y > (6 / 29) ** 3 else y * (29 / 3) ** 3


@pytest.mark.parametrize(("row", "share"), VIK_ROWS.items())
def test_grade_scale_is_the_published_table(row: int, share: tuple[float, float, float]) -> None:
    assert palette.rgb(VIK[row]) == pytest.approx([255 * part for part in share], abs=0.51)


@pytest.mark.parametrize(("name", "parts"), OKABE_ITO.items())
def test_kind_colours_are_the_published_set(name: str, parts: tuple[int, int, int]) -> None:
    assert palette.rgb(palette.OKABE_ITO[name]) == parts


def test_steeper_is_darker_in_grey_print_both_ways() -> None:
    up = [lightness(palette.grade_colour(grade)) for grade in np.linspace(0, 0.2, 9)]
    down = [lightness(palette.grade_colour(-grade)) for grade in np.linspace(0, 0.2, 9)]
    for values in (up, down):
        assert all(a - b > 3 for a, b in itertools.pairwise(values))


def test_level_and_unknown_grades_take_the_middle() -> None:
    assert palette.grade_colour(0.0) == VIK[8] == palette.grade_colour(math.nan)
    assert palette.grade_colour(0.5) == VIK[-1]
    assert palette.grade_colour(-0.5) == VIK[0]


@pytest.mark.parametrize(
    ("grade", "words"),
    [(0.0, "level"), (0.05, "up"), (-0.05, "down"), (0.1, "steep up"), (-0.2, "steep down")],
)
def test_every_grade_has_a_word(grade: float, words: str) -> None:
    assert palette.grade_words(grade) == words


@pytest.mark.parametrize(("grade", "strokes"), [(0.0, 0), (0.02, 0), (0.05, 1), (-0.12, 2)])
def test_grade_signs_need_no_colour(grade: float, strokes: int) -> None:
    signs = grade_sign(10, 10, grade)
    assert len(signs) == strokes
    for sign in signs:
        assert isinstance(sign, Line)
        tip_is_lower = bool(sign.points[1, 1] > sign.points[0, 1])  # y runs down the page
        assert tip_is_lower == (grade < 0)


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=lambda theme: theme.name)
def test_text_tones_reach_their_contrast(theme: palette.Theme) -> None:
    # WCAG 2.1, success criteria 1.4.6 (7:1), 1.4.3 (4.5:1) and 1.4.11 (3:1 for graphics).
    assert palette.contrast(theme.ink, theme.paper) >= 7
    assert palette.contrast(theme.soft_ink, theme.paper) >= 7
    assert palette.contrast(theme.accent, theme.paper) >= 4.5
    assert palette.contrast(theme.faint_ink, theme.paper) >= 4.5
    assert palette.contrast(theme.trail, theme.paper) >= 3


def test_contrast_of_black_and_white_is_21_to_1() -> None:
    # WCAG 2.1, definition of contrast ratio.
    assert palette.contrast("#000000", "#ffffff") == pytest.approx(21)
    assert palette.contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.01)


def test_the_loop_stands_out_from_trails_in_grey_print() -> None:
    loop, trail = lightness(LIGHT.accent), lightness(LIGHT.trail)
    assert trail - loop > 25
    assert lightness(palette.PRINT_PAPER) - trail > 30


def test_words_on_grade_colours_read_in_grey_print() -> None:
    for grade in np.linspace(-0.2, 0.2, 17):
        fill = palette.grade_colour(float(grade))
        assert palette.contrast(palette.text_on(fill), fill) >= 4.5


def test_every_surface_has_a_style_and_no_two_look_alike_in_grey() -> None:
    assert set(SURFACE) == set(SURFACES)
    for (_, one), (_, two) in itertools.combinations(SURFACE.items(), 2):
        apart = abs(lightness(one.colour) - lightness(two.colour)) >= 12
        assert apart or one.dash != two.dash, (one, two)


def test_every_kind_has_a_shape_of_its_own() -> None:
    assert set(FEATURE) == set(FeatureKind)
    assert len({style.shape for style in FEATURE.values()}) == len(FEATURE)
    assert len({style.words for style in FEATURE.values()}) == len(FEATURE)


@pytest.mark.parametrize("kind", FeatureKind)
def test_shapes_fit_their_circle_and_follow_place_and_size(kind: FeatureKind) -> None:
    points = outline(FEATURE[kind].shape)
    assert np.hypot(*points.T).max() <= 1.35
    moved = placed(FEATURE[kind].shape, x=5, y=7, radius=2)
    assert moved == pytest.approx(points * 2 + (5, 7))


def test_blends_run_from_one_end_to_the_other() -> None:
    assert palette.blend("#000000", "#ffffff", 0) == "#000000"
    assert palette.blend("#000000", "#ffffff", 0.5) == "#808080"
    assert palette.blend("#000000", "#ffffff", 1) == "#ffffff"
