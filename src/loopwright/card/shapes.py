"""Outlines of the small shapes that stand for kinds of features.

Gets a shape name; gives closed polygons around (0, 0), y down, that fit a circle of radius 1.
Promises: no two shapes are alike in outline, so they can be told apart without colour.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from loopwright.card.palette import ShapeName
from loopwright.model.arrays import Floats, floats

_POLYGONS: dict[str, tuple[tuple[float, float], ...]] = {
    "up": ((0.0, -0.95), (0.95, 0.75), (-0.95, 0.75)),
    "double_up": (
        (0.0, -1.0), (0.8, 0.0), (0.45, 0.0), (0.95, 0.85), (-0.95, 0.85), (-0.45, 0.0),
        (-0.8, 0.0),
    ),
    "down": ((0.0, 0.95), (-0.95, -0.75), (0.95, -0.75)),
    "double_down": (
        (0.0, 1.0), (-0.8, 0.0), (-0.45, 0.0), (-0.95, -0.85), (0.95, -0.85), (0.45, 0.0),
        (0.8, 0.0),
    ),
    "bar": ((-1.0, -0.42), (1.0, -0.42), (1.0, 0.42), (-1.0, 0.42)),
    "wedge": ((-1.0, -0.85), (1.0, -0.25), (1.0, 0.25), (-1.0, 0.85)),
    "square": ((-0.75, -0.75), (0.75, -0.75), (0.75, 0.75), (-0.75, 0.75)),
}  # fmt: skip
ROUND_SIDES = 24


@lru_cache(maxsize=16)
def outline(name: ShapeName) -> Floats:
    """Corners ``(n, 2)`` of the closed outline, first corner not repeated; y runs down."""
    if name == "round":
        turn = np.arange(ROUND_SIDES) * (2 * np.pi / ROUND_SIDES)
        return floats(np.column_stack((np.cos(turn), np.sin(turn))) * 0.9, columns=2)
    return floats(_POLYGONS[name], columns=2)


def placed(name: ShapeName, *, x: float, y: float, radius: float) -> Floats:
    """Give the outline ``(n, 2)`` about (x, y), fitting a circle of ``radius`` (any unit)."""
    return floats(outline(name) * radius + np.array((x, y)), columns=2)
