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

from loopwright.model.ground import FeatureKind
from loopwright.model.picture import Colour

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
class Theme:
    """Tones of one appearance. ``ink`` on ``paper`` reads at 7:1 or better."""

    name: str
    paper: Colour
    panel: Colour
    ink: Colour
    soft_ink: Colour
    faint_ink: Colour
    rule: Colour
    trail: Colour
    trail_casing: Colour
    accent: Colour
    accent_soft: Colour
    warning: Colour


LIGHT = Theme(
    name="light",
    paper="#fbfaf6",
    panel="#f2f0ea",
    ink="#1c1b1f",
    soft_ink="#4a4850",
    faint_ink="#6f6c75",
    rule="#d5d2ca",
    trail="#8f8c88",
    trail_casing="#ffffff",
    accent="#5b2a63",
    accent_soft="#e3d7e6",
    warning="#8c2f00",
)
DARK = Theme(
    name="dark",
    paper="#1b1b1e",
    panel="#242428",
    ink="#f0eee9",
    soft_ink="#c9c6c0",
    faint_ink="#9c9994",
    rule="#3b3b40",
    trail="#7d7a78",
    trail_casing="#121214",
    accent="#d3a1dc",
    accent_soft="#45324a",
    warning="#ffb38a",
)
INK, PAPER, ACCENT = LIGHT.ink, LIGHT.paper, LIGHT.accent
PRINT_PAPER = "#ffffff"
"""Printed cards leave the sheet as it is."""


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


def blend(first: Colour, second: Colour, share: float) -> Colour:
    """Colour ``share`` (0..1) of the way from ``first`` to ``second``, linearly in sRGB."""
    pairs = zip(rgb(first), rgb(second), strict=True)
    return "#" + "".join(f"{round(a + (b - a) * share):02x}" for a, b in pairs)


def rgb(colour: Colour) -> tuple[int, int, int]:
    """Red, green and blue 0..255 of ``#rrggbb``; an alpha part is left out."""
    return int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16)


def luminance(colour: Colour) -> float:
    """Relative luminance 0..1 (WCAG 2.1, definition of relative luminance)."""
    red, green, blue = (_linear(part / 255.0) for part in rgb(colour))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _linear(part: float) -> float:
    return float(part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4)


def contrast(first: Colour, second: Colour) -> float:
    """Contrast ratio 1..21 (WCAG 2.1)."""
    light, dark = sorted((luminance(first), luminance(second)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def text_on(fill: Colour) -> Colour:
    """Ink or white, whichever reads better on ``fill``."""
    return INK if contrast(INK, fill) >= contrast("#ffffff", fill) else "#ffffff"
