"""Colours, dashes and shapes shared by map, profile and card.

Gets words of the model (surfaces, feature kinds, grades); gives ``#rrggbb`` colours, dash
patterns and shape names. Promises: colour is never the only sign: every surface also has a dash
of its own, every kind of feature a shape of its own, and every grade a word.

Sources
-------
Kinds and surfaces: Okabe and Ito, Color Universal Design (2008), eight colours that people with
common colour vision deficiencies tell apart; blended with paper or ink where a surface needs a
second tone. Grade: ``vik`` of Crameri, Scientific colour maps (doi 10.5281/zenodo.1243862, MIT):
seventeen evenly spaced rows of its 256-row table, perceptually uniform, diverging about level.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal, TypeAlias

from loopwright.card.themes import (
    ACCENT,
    DARK,
    INK,
    LIGHT,
    PAPER,
    PRINT_PAPER,
    Theme,
    blend,
    contrast,
    luminance,
    rgb,
    text_on,
)
from loopwright.model.ground import FeatureKind
from loopwright.model.picture import Colour

__all__ = [
    "ACCENT", "DARK", "FEATURE", "GRADE_SPAN", "INK", "LIGHT", "OKABE_ITO", "PAPER",
    "PRINT_PAPER", "SURFACE", "VIK", "FeatureStyle", "ShapeName", "SurfaceStyle", "Theme",
    "blend", "contrast", "grade_colour", "grade_words", "luminance", "rgb", "text_on",
]  # fmt: skip

ShapeName: TypeAlias = Literal[
    "up", "double_up", "down", "double_down", "round", "bar", "wedge", "square"
]

OKABE_ITO = MappingProxyType(
    {
        "black": "#000000",
        "orange": "#e69f00",
        "sky": "#56b4e9",
        "green": "#009e73",
        "yellow": "#f0e442",
        "blue": "#0072b2",
        "vermillion": "#d55e00",
        "purple": "#cc79a7",
    }
)

VIK = (
    "#001261", "#022b71", "#034481", "#0c5e92", "#307da6", "#619ebd", "#94bed2", "#c6dbe6",
    "#ece5e0", "#e9cab8", "#dbaa8d", "#cf8c66", "#c27041", "#b2511d", "#912d06", "#731406",
    "#590008",
)  # fmt: skip
"""Rows 1, 17, 33 ... 241, 256 of the published table: from steep down to steep up."""
GRADE_SPAN = 0.20
"""Grades beyond +-20 % take the end colours."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceStyle:
    """How a surface is drawn: ``dash`` in line widths on/off (empty solid), ``words`` to read."""

    colour: Colour
    dash: tuple[float, ...]
    words: str


def _surface(colour: str, dash: tuple[float, ...], words: str) -> SurfaceStyle:
    return SurfaceStyle(colour=colour, dash=dash, words=words)


SURFACE: Mapping[str, SurfaceStyle] = MappingProxyType(
    {
        "unknown": _surface("#b3b0ac", (0.6, 2.4), "not tagged"),
        "asphalt": _surface("#3f3d44", (), "asphalt"),
        "concrete": _surface("#77747c", (), "concrete"),
        "compacted": _surface("#56b4e9", (), "compacted"),
        "fine_gravel": _surface("#56b4e9", (6.0, 1.2), "fine gravel"),
        "gravel": _surface("#0072b2", (3.0, 1.2), "gravel"),
        "pebblestone": _surface("#0072b2", (1.2, 1.2), "pebbles"),
        "ground": _surface("#e69f00", (10.0, 1.2), "ground"),
        "dirt": _surface("#b87a00", (6.0, 1.2), "dirt"),
        "grass": _surface("#009e73", (2.0, 1.2), "grass"),
        "sand": _surface("#d9cc1f", (0.8, 1.0), "sand"),
        "mud": _surface("#6b3f16", (4.0, 1.0, 0.8, 1.0), "mud"),
        "rock": _surface("#d55e00", (4.0, 1.0, 1.0, 1.0, 1.0, 1.0), "rock"),
        "wood": _surface("#cc79a7", (1.6, 0.8), "wood"),
    }
)
"""One style for each of ``SURFACES``; two of one hue always differ in tone or dash."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FeatureStyle:
    """How a kind of feature is drawn (``shape`` as in ``card.shapes``) and called."""

    shape: ShapeName
    colour: Colour
    words: str


def _kind(shape: ShapeName, colour: str, words: str) -> FeatureStyle:
    return FeatureStyle(shape=shape, colour=OKABE_ITO[colour], words=words)


FEATURE: Mapping[FeatureKind, FeatureStyle] = MappingProxyType(
    {
        FeatureKind.CLIMB: _kind("up", "orange", "climb"),
        FeatureKind.STEEP_CLIMB: _kind("double_up", "vermillion", "steep climb"),
        FeatureKind.DESCENT: _kind("down", "sky", "descent"),
        FeatureKind.ROUGH_DESCENT: _kind("double_down", "blue", "rough descent"),
        FeatureKind.CORNER: _kind("round", "purple", "corner"),
        FeatureKind.STRAIGHT: _kind("bar", "green", "straight"),
        FeatureKind.FUNNEL: _kind("wedge", "yellow", "funnel"),
        FeatureKind.STEADY: _kind("square", "black", "steady stretch"),
    }
)


def grade_colour(grade: float, *, span: float = GRADE_SPAN) -> Colour:
    """Colour of a grade (ratio, positive up as ridden); level is pale, NaN is level.

    ``span`` is the grade that takes the end colour; between table rows colours are blended
    linearly in sRGB.
    """
    share = 0.5 if grade != grade else min(1.0, max(0.0, 0.5 + grade / (2.0 * span)))  # noqa: PLR0124 - NaN
    place = share * (len(VIK) - 1)
    row = min(int(place), len(VIK) - 2)
    return blend(VIK[row], VIK[row + 1], place - row)


def grade_words(grade: float) -> str:
    """Plain word for a grade (ratio), for those who cannot see or print the colour."""
    size = abs(grade)
    if not size >= 0.02:
        return "level"
    way = "up" if grade > 0 else "down"
    return way if size < 0.10 else f"steep {way}"
