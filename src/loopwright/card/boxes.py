"""Rectangles on the page, and the few marks every part of a card uses.

Gets millimetres, origin top left, y down; gives boxes and marks.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loopwright.card import palette
from loopwright.card.measure import extent, fit, width_mm
from loopwright.model.arrays import Floats
from loopwright.model.picture import Anchor, Colour, Line, Shape, Text

HAIR_MM = 0.18


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """A rectangle in millimetres."""

    left: float
    top: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """Right edge."""
        return self.left + self.width

    @property
    def bottom(self) -> float:
        """Lower edge."""
        return self.top + self.height

    def inset(self, by: float, down: float | None = None) -> Box:
        """Give the box made smaller on all four sides."""
        tall = by if down is None else down
        return Box(
            left=self.left + by,
            top=self.top + tall,
            width=max(0.0, self.width - 2 * by),
            height=max(0.0, self.height - 2 * tall),
        )

    def overlaps(self, other: Box, *, slack: float = 0.0) -> bool:
        """Tell whether two boxes share more than ``slack`` millimetres both ways."""
        wide = min(self.right, other.right) - max(self.left, other.left)
        tall = min(self.bottom, other.bottom) - max(self.top, other.top)
        return wide > slack and tall > slack

    def corners(self) -> Floats:
        """Give the four corners ``(4, 2)``, clockwise from top left."""
        return np.array(
            [
                (self.left, self.top),
                (self.right, self.top),
                (self.right, self.bottom),
                (self.left, self.bottom),
            ]
        )


def columns(box: Box, count: int, *, gap: float) -> tuple[Box, ...]:
    """Split a box into equal columns."""
    width = (box.width - gap * (count - 1)) / count
    return tuple(
        Box(left=box.left + i * (width + gap), top=box.top, width=width, height=box.height)
        for i in range(count)
    )


def text(
    x: float,
    y: float,
    words: str,
    size_mm: float,
    *,
    colour: Colour = palette.INK,
    anchor: Anchor = "left",
    bold: bool = False,
    room_mm: float | None = None,
    layer: str = "",
) -> Text:
    """Make one line of text with its baseline at y, cut to ``room_mm``."""
    shown = words if room_mm is None else fit(words, size_mm, room_mm, bold=bold)
    return Text(
        x=x, y=y, words=shown, size_mm=size_mm, colour=colour, anchor=anchor, bold=bold, layer=layer
    )


def text_box(mark: Text) -> Box:
    """Give the room a line of text takes, accents and descenders included."""
    width = width_mm(mark.words, mark.size_mm, bold=mark.bold)
    share = {"left": 0.0, "middle": 0.5, "right": 1.0}[mark.anchor]
    above, below = extent(mark.words)
    return Box(
        left=mark.x - share * width,
        top=mark.y - above * mark.size_mm,
        width=width,
        height=(above + below) * mark.size_mm,
    )


def rule(box: Box, y: float, *, colour: Colour = palette.LIGHT.rule, width: float = 0.2) -> Line:
    """Make a level line across the box."""
    return stroke(((box.left, y), (box.right, y)), colour=colour, width=width)


def stroke(
    points: Floats | tuple[tuple[float, float], ...],
    *,
    colour: Colour = palette.INK,
    width: float = HAIR_MM,
    dash: tuple[float, ...] = (),
    layer: str = "",
) -> Line:
    """Make an open line."""
    points = np.asarray(points, dtype=np.float64)
    return Line(points=points, colour=colour, width_mm=width, dash=dash, layer=layer)


def panel(
    box: Box,
    *,
    fill: Colour | None,
    edge: Colour | None = None,
    width: float = 0.0,
    layer: str = "",
) -> Shape:
    """Make a filled rectangle."""
    return Shape(points=box.corners(), fill=fill, edge=edge, width_mm=width, layer=layer)
