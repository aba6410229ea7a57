"""Picture primitives in millimetres, origin top left, y down.

``card`` makes pictures, ``render`` paints them; neither imports the other.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

import numpy as np

from loopwright.model.arrays import Floats, floats

Colour: TypeAlias = str
"""``#rrggbb`` or ``#rrggbbaa``."""
Anchor: TypeAlias = Literal["left", "middle", "right"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Line:
    """An open line, ``points`` ``(n, 2)`` mm; ``dash`` in mm on/off, empty for solid."""

    points: Floats
    colour: Colour
    width_mm: float
    dash: tuple[float, ...] = ()
    layer: str = ""

    def __post_init__(self) -> None:
        """Check the shape and lock the array."""
        object.__setattr__(self, "points", floats(self.points, columns=2))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shape:
    """A closed filled polygon, ``points`` ``(n, 2)`` mm."""

    points: Floats
    fill: Colour | None
    edge: Colour | None = None
    width_mm: float = 0.0
    layer: str = ""

    def __post_init__(self) -> None:
        """Check the shape and lock the array."""
        object.__setattr__(self, "points", floats(self.points, columns=2))


@dataclass(frozen=True, slots=True, kw_only=True)
class Disc:
    """A filled circle."""

    x: float
    y: float
    radius_mm: float
    fill: Colour | None
    edge: Colour | None = None
    width_mm: float = 0.0
    layer: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Text:
    """One line of text; (x, y) is on the baseline at the anchor. ``size_mm`` is the em height.

    ``max_width_mm`` asks the painter to shorten with an ellipsis; 0 for none.
    """

    x: float
    y: float
    words: str
    size_mm: float
    colour: Colour = "#1c1b1f"
    anchor: Anchor = "left"
    bold: bool = False
    max_width_mm: float = 0.0
    layer: str = ""


Mark: TypeAlias = Line | Shape | Disc | Text


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A page: marks are painted in order. ``title`` becomes the document title."""

    width_mm: float
    height_mm: float
    marks: tuple[Mark, ...]
    title: str = ""


def side_by_side(pages: Sequence[Picture], *, gap_mm: float = 0.0) -> Picture:
    """Lay pages of one height beside each other, as one picture with the first one's title."""
    if len(pages) == 1:
        return pages[0]
    marks: list[Mark] = []
    right = 0.0
    for page in pages:
        marks += (_moved(mark, right) for mark in page.marks)
        right += page.width_mm + gap_mm
    return replace(pages[0], width_mm=right - gap_mm, marks=tuple(marks))


def _moved(mark: Mark, by_mm: float) -> Mark:
    if isinstance(mark, (Line, Shape)):
        return replace(mark, points=mark.points + np.array((by_mm, 0.0)))
    return replace(mark, x=mark.x + by_mm)
