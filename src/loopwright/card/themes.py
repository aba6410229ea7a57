"""The two appearances, light and dark, and the arithmetic of colours.

Gets nothing; gives tones as ``#rrggbb`` and how two of them blend or stand apart. Promises: loads
no array library, so that a window has its colours before anything else is there.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from loopwright.model.picture import Colour


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
