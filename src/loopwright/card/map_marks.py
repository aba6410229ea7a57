"""Map marks in millimetres from lines in local metres; the same on paper and on screen.

Gets lines and a window; gives picture marks. Promises: nothing is drawn outside the window's box.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from loopwright.card import palette
from loopwright.card.boxes import Box, stroke
from loopwright.geo.polyline import along, at, headings
from loopwright.model.arrays import Floats, floats
from loopwright.model.picture import Colour, Line, Mark, Shape

LOOP_MM, LOOP_CASING_MM, TRAIL_MM = 0.95, 1.9, 0.32
ARROW_EVERY_MM, ARROW_MM = 30.0, 2.6
STEP_MM = 0.5
FINE_MM = 0.07
"""Lines are drawn this true, a fifth of the thinnest: finer points only swell the file."""
TURNS_DEG = (15, -15, 30, -30, 45, -45, 60, -60, 75, -75, 90, -90)
WORTH_TURNING = 1.2


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """Where a piece of ground lies on the page, ``mm_per_m`` both ways.

    ``east``, ``north`` (local metres) are shown in the middle of ``box``; the map is turned
    anticlockwise by ``turn_rad``, 0 for north up.
    """

    box: Box
    east: float
    north: float
    mm_per_m: float
    turn_rad: float = 0.0

    def to_page(self, xy: Floats) -> Floats:
        """Page millimetres ``(n, 2)`` of local metres ``(n, 2)``."""
        off = turned(xy - np.array((self.east, self.north)), self.turn_rad) * self.mm_per_m
        x = self.box.left + self.box.width / 2 + off[:, 0]
        y = self.box.top + self.box.height / 2 - off[:, 1]
        return np.column_stack((x, y))


def window_on(xy: Floats, box: Box, *, margin_mm: float) -> Window:
    """Give the largest window that shows all of ``xy`` ``(n, 2)`` with a margin.

    One point, or none, gives a window of 100 m across. NaN rows are left out.
    """
    known = xy[np.isfinite(xy).all(axis=1)] if len(xy) else np.zeros((0, 2))
    low, high = (known.min(axis=0), known.max(axis=0)) if len(known) else (np.zeros(2),) * 2
    size = np.maximum(high - low, 50.0)
    room = np.array((box.width - 2 * margin_mm, box.height - 2 * margin_mm))
    middle = (low + high) / 2
    return Window(
        box=box, east=float(middle[0]), north=float(middle[1]), mm_per_m=float((room / size).min())
    )


def turned(xy: Floats, turn_rad: float) -> Floats:
    """Turn points ``(n, 2)`` anticlockwise about (0, 0)."""
    cos, sin = np.cos(turn_rad), np.sin(turn_rad)
    return floats(xy @ np.array([(cos, sin), (-sin, cos)]), columns=2)


def turned_window_on(xy: Floats, box: Box, *, margin_mm: float) -> Window:
    """Give the largest window on ``xy`` with the map turned, north staying in the upper half.

    North stays up unless turning makes the map larger by more than ``WORTH_TURNING``.
    """
    best = window_on(xy, box, margin_mm=margin_mm)
    least = best.mm_per_m * WORTH_TURNING
    for degrees in TURNS_DEG:
        turn = np.deg2rad(degrees)
        flat = window_on(turned(xy, turn), box, margin_mm=margin_mm)
        if flat.mm_per_m > least:
            middle = turned(np.array([(flat.east, flat.north)]), -turn)[0]
            east, north = middle.tolist()
            scale = flat.mm_per_m
            best = Window(box=box, east=east, north=north, mm_per_m=scale, turn_rad=float(turn))
            least = 1.02 * scale
    return best


def map_marks(
    loop: Floats,
    window: Window,
    *,
    background: tuple[Floats, ...] = (),
    theme: palette.Theme = palette.LIGHT,
    scale: float = 1.0,
) -> tuple[Mark, ...]:
    """Give marks of other trails, the loop ``(n, 2)`` in riding order and its direction arrows.

    ``scale`` widens or narrows all lines together.
    """
    marks: list[Mark] = list(trail_marks(background, window, theme=theme, scale=scale))
    page = window.to_page(loop)
    width = LOOP_CASING_MM * scale
    marks += _clipped(page, window.box, colour=theme.trail_casing, width=width, layer="casing")
    marks += _clipped(page, window.box, colour=theme.accent, width=LOOP_MM * scale, layer="loop")
    marks += arrow_marks(page, box=window.box, theme=theme, scale=scale)
    return tuple(marks)


def trail_marks(
    lines: tuple[Floats, ...], window: Window, *, theme: palette.Theme, scale: float = 1.0
) -> tuple[Mark, ...]:
    """Give marks of trails ``(n, 2)`` local metres, in the tone of ink on this theme."""
    width = TRAIL_MM * scale
    return tuple(
        mark
        for line in lines
        if len(line) > 1
        for mark in _clipped(
            window.to_page(line), window.box, colour=theme.trail, width=width, layer="trails"
        )
    )


def _clipped(page: Floats, box: Box, *, colour: Colour, width: float, layer: str) -> list[Line]:
    if len(page) < 2:
        return []
    inner = box.inset(width / 2)
    line = shapely.simplify(shapely.linestrings(page), FINE_MM, preserve_topology=False)
    cut = shapely.clip_by_rect(line, inner.left, inner.top, inner.right, inner.bottom)
    lines = [shapely.get_coordinates(part) for part in shapely.get_parts(cut)]
    return [stroke(p, colour=colour, width=width, layer=layer) for p in lines if len(p) > 1]


def arrow_marks(
    page: Floats, *, box: Box, theme: palette.Theme, scale: float = 1.0
) -> tuple[Mark, ...]:
    """Arrow heads along a line of page millimetres, one about every 30 mm, at least two."""
    run = along(page)
    if len(page) < 2 or run[-1] < 4 * ARROW_MM:
        return ()
    count = max(2, round(float(run[-1]) / (ARROW_EVERY_MM * scale)))
    stations = (np.arange(count) + 0.5) * run[-1] / count
    spots = at(page, stations)
    turn = np.arctan2(*(at(page, stations + 0.8) - at(page, stations - 0.8)).T[::-1])
    heads = [
        _arrow(spot, float(angle), theme=theme, size=ARROW_MM * scale)
        for spot, angle in zip(spots, turn, strict=True)
    ]
    inner = box.inset(ARROW_MM)
    return tuple(
        head
        for head, (x, y) in zip(heads, spots, strict=True)
        if inner.left <= x <= inner.right and inner.top <= y <= inner.bottom
    )


def _arrow(spot: Floats, angle: float, *, theme: palette.Theme, size: float) -> Shape:
    flat = np.array([(0.62, 0.0), (-0.5, 0.52), (-0.25, 0.0), (-0.5, -0.52)]) * size
    cos, sin = np.cos(angle), np.sin(angle)
    points = flat @ np.array([(cos, sin), (-sin, cos)]) + spot
    return Shape(
        points=points, fill=theme.accent, edge=theme.trail_casing, width_mm=0.3, layer="arrows"
    )


def gate_marks(page: Floats, *, theme: palette.Theme, size: float = 5.2) -> tuple[Mark, ...]:
    """Draw the start gate across the first point of a line of page millimetres."""
    ends = gate_ends(page, size=size)
    wide = stroke(ends, colour=theme.trail_casing, width=1.9, layer="gate")
    return (wide, stroke(ends, colour=theme.ink, width=1.1, layer="gate"))


def gate_ends(page: Floats, *, size: float = 5.2) -> Floats:
    """Both ends ``(2, 2)`` of the gate across the first point of a line."""
    angle = float(headings(page[: max(2, min(4, len(page)))])[0]) + np.pi / 2
    arm = np.array((np.cos(angle), np.sin(angle))) * size / 2
    return np.vstack((page[0] - arm, page[0] + arm))


def closely(page: Floats) -> Floats:
    """Points ``(k, 2)`` every half millimetre along a line of page millimetres."""
    run = along(page)
    if len(page) < 2:
        return page
    return at(page, np.arange(0.0, float(run[-1]) + STEP_MM, STEP_MM))
