"""North arrow and scale bar.

Gets a window on the ground; gives a small block of marks for its emptiest corner.
"""

from __future__ import annotations

import numpy as np

from loopwright.card import palette
from loopwright.card.boxes import Box, panel, stroke, text
from loopwright.card.map_marks import Window, turned
from loopwright.model.arrays import Floats
from loopwright.model.picture import Mark, Shape
from loopwright.units import FOOT_M, MILE_M, Units

BLOCK_MM = (44.0, 9.0)
NICE = (1.0, 2.0, 5.0)


def furniture_box(page: Floats, box: Box, *, size: tuple[float, float] = BLOCK_MM) -> Box:
    """Choose the corner of ``box`` that covers the fewest points of the line ``page``."""
    wide, tall = min(size[0], box.width), min(size[1], box.height)
    options = [
        Box(left=left, top=top, width=wide, height=tall)
        for top in (box.bottom - tall, box.top)
        for left in (box.left, box.right - wide)
    ]
    return min(options, key=lambda option: covered(page, option.inset(-2.0)))


def covered(page: Floats, box: Box) -> int:
    """Count the points ``(n, 2)`` inside a box."""
    inside = (page >= (box.left, box.top)) & (page <= (box.right, box.bottom))
    return int(inside.all(axis=1).sum())


def furniture_marks(box: Box, window: Window, units: Units) -> tuple[Mark, ...]:
    """Draw the block: north at the left, the scale bar at its right."""
    back = panel(box, fill=palette.PRINT_PAPER, layer="furniture")
    return (back, *_north(box, window.turn_rad), *_scale_bar(box, window.mm_per_m, units))


def _north(box: Box, turn_rad: float) -> tuple[Mark, ...]:
    """Arrow to the north, turned with the map, and its letter at the tip."""
    north = turned(np.array([(0.0, 1.0)]), turn_rad)[0] * (1, -1)
    centre = np.array((box.left + 5.5, box.top + box.height / 2)) - 1.3 * north
    half = np.array([(0.0, 2.6), (0.0, -1.4), (-1.4, -2.6)])
    west = turned(half, turn_rad) * (1, -1) + centre
    east = turned(half * (-1, 1), turn_rad) * (1, -1) + centre
    edge, (x, y) = palette.INK, (centre + 4.2 * north).tolist()
    return (
        Shape(points=west, fill=palette.INK, edge=edge, width_mm=0.15, layer="furniture"),
        Shape(points=east, fill="#ffffff", edge=edge, width_mm=0.15, layer="furniture"),
        text(x, y + 1.0, "N", 2.8, bold=True, anchor="middle", layer="furniture"),
    )


def _scale_bar(box: Box, mm_per_m: float, units: Units) -> tuple[Mark, ...]:
    room = box.width - 16.5
    length_m, words = nice_length(room / mm_per_m, units)
    length = length_m * mm_per_m
    x, y = box.left + 13.5, box.bottom - 2.0
    ticks = ((x, y - 1.2), (x, y), (x + length, y), (x + length, y - 1.2))
    return (
        stroke(ticks, width=0.4, layer="furniture"),
        text(x + length / 2, y - 1.5, words, 2.7, anchor="middle", layer="furniture"),
    )


def nice_length(most_m: float, units: Units) -> tuple[float, str]:
    """Longest of 1, 2, 5 times a power of ten that fits in ``most_m``, with its words."""
    if units is Units.METRIC:
        size = _nice(most_m)
        return size, f"{size / 1000:g} km" if size >= 1000 else f"{size:g} m"
    if most_m >= MILE_M / 10:
        size = _nice(most_m / MILE_M * 100) / 100
        return size * MILE_M, f"{size:g} mi"
    size = _nice(most_m / FOOT_M)
    return size * FOOT_M, f"{size:g} ft"


def _nice(most: float) -> float:
    power = 10.0 ** np.floor(np.log10(max(most, 1e-9)))
    return float(max(step * power for step in NICE if step * power <= most * (1 + 1e-9)))
