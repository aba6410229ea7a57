"""Picture primitives in millimetres, origin top left, y down.

``card`` makes pictures, ``render`` paints them; neither imports the other.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

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
