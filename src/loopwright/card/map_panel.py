"""The map on the card: trails, loop, numbered features, gate, north and scale.

Gets what a card is made from and a box; gives marks. Promises: numbers do not cover each other.
"""

from __future__ import annotations

import numpy as np

from loopwright.card import palette
from loopwright.card.boxes import Box, panel, text
from loopwright.card.furniture import BLOCK_MM, covered, furniture_box, furniture_marks
from loopwright.card.labels import place_labels
from loopwright.card.map_marks import (
    LOOP_CASING_MM,
    Window,
    closely,
    gate_ends,
    gate_marks,
    map_marks,
    turned_window_on,
)
from loopwright.card.number_marks import label_marks, leader_mark, listed, shape_mark
from loopwright.card.sheet import CardInput, shown
from loopwright.model.arrays import Floats
from loopwright.model.course import Course, CourseFeature, mark_m
from loopwright.model.picture import Mark

START_WORDS = "START"


def map_panel(
    sheet: CardInput,
    box: Box,
    *,
    radius: float = 1.9,
    unnumbered: tuple[CourseFeature, ...] = (),
) -> tuple[Mark, ...]:
    """Draw the map; ``radius`` is the size of the numbers in millimetres.

    Features of the sheet's course are numbered, ``unnumbered`` ones show their shape alone.
    """
    course = sheet.course
    parts = open_parts(sheet)
    window, corner = _window_and_corner(parts, box, margin_mm=min(4.5 * radius, box.height / 6))
    page = window.to_page(course.xy)
    marks: list[Mark] = []
    for i, part in enumerate(parts):
        marks += map_marks(part, window, background=sheet.background if i == 0 else ())
    if not sheet.hide_start:
        marks += gate_marks(page, theme=palette.LIGHT)
    marks += _shapes(sheet, window, unnumbered, radius=0.45 * radius)
    marks += _features(sheet, window, box=box, corner=corner, radius=radius)
    marks += furniture_marks(corner, window, sheet.units)
    marks.append(panel(box, fill=None, edge=palette.LIGHT.rule, width=0.25, layer="frame"))
    return tuple(marks)


def _window_and_corner(
    parts: tuple[Floats, ...], box: Box, *, margin_mm: float
) -> tuple[Window, Box]:
    """Fit the loop, and find a corner for north and scale that the loop leaves free.

    Without one, a band at the foot of the map is kept free for them.
    """
    ground = np.vstack(parts) if parts else np.zeros((0, 2))
    window = turned_window_on(ground, box, margin_mm=margin_mm)
    line = np.vstack([closely(window.to_page(part)) for part in parts] or [ground])
    corner = furniture_box(line, box, size=_block(box))
    if not covered(line, corner.inset(-LOOP_CASING_MM)):
        return window, corner
    high = Box(left=box.left, top=box.top, width=box.width, height=box.height - corner.height)
    window = turned_window_on(ground, high, margin_mm=min(margin_mm, high.height / 6))
    wide, tall = _block(box)
    return window, Box(left=box.left, top=high.bottom, width=wide, height=tall)


def _block(box: Box) -> tuple[float, float]:
    return min(BLOCK_MM[0], 0.4 * box.width), BLOCK_MM[1]


def open_parts(sheet: CardInput) -> tuple[Floats, ...]:
    """Give the runs ``(n, 2)`` local metres of the loop that lie outside the private circle."""
    course = sheet.course
    out = shown(sheet, course.xy)
    if out.all():
        return (course.xy,)
    edges = np.flatnonzero(np.diff(np.concatenate(([0], out.astype(np.int8), [0]))))
    runs = zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True)
    return tuple(course.xy[first:last] for first, last in runs if last - first > 1)


def feature_places(course: Course, features: tuple[CourseFeature, ...]) -> Floats:
    """Local places ``(k, 2)`` of the features, where ``mark_m`` puts them."""
    metres = np.array([mark_m(feature) for feature in features], dtype=np.float64)
    x = np.interp(metres, course.dist_m, course.xy[:, 0])
    y = np.interp(metres, course.dist_m, course.xy[:, 1])
    return np.column_stack((x, y))


def _shapes(
    sheet: CardInput, window: Window, features: tuple[CourseFeature, ...], *, radius: float
) -> list[Mark]:
    places = feature_places(sheet.course, features)
    out = shown(sheet, places).tolist()
    page = window.to_page(places).tolist()
    return [
        shape_mark(feature.kind, x, y, radius=radius, layer="unnumbered")
        for feature, (x, y), here in zip(features, page, out, strict=True)
        if here
    ]


def _features(
    sheet: CardInput, window: Window, *, box: Box, corner: Box, radius: float
) -> list[Mark]:
    page = window.to_page(sheet.course.xy)
    features = listed(sheet.course.features)
    places = feature_places(sheet.course, features)
    out = shown(sheet, places)
    features = tuple(feature for feature, here in zip(features, out.tolist(), strict=True) if here)
    spots = window.to_page(places[out])
    start_size = (11.5 * radius / 1.9, 3.2 * radius / 1.9)
    sizes = np.full((len(spots), 2), 2 * radius)
    places = spots
    blocked: tuple[Box, ...] = (corner,)
    if not sheet.hide_start:
        blocked = (corner, *gate_boxes(page))
        places = np.vstack((page[:1], spots))
        sizes = np.vstack((start_size, sizes))
    centres = place_labels(places, sizes, line=closely(page), box=box.inset(0.8), blocked=blocked)
    marks: list[Mark] = []
    if not sheet.hide_start:
        marks += _start(centres[0], places[0], size=start_size)
        centres = centres[1:]
    for (x, y), (cx, cy) in zip(spots.tolist(), centres.tolist(), strict=True):
        marks += leader_mark((x, y), (cx, cy), short=radius, layer="numbers")
    marks += [
        shape_mark(f.kind, x, y, radius=0.62 * radius, layer="features")
        for f, (x, y) in zip(features, spots.tolist(), strict=True)
    ]
    for feature, (cx, cy) in zip(features, centres.tolist(), strict=True):
        marks += label_marks(cx, cy, feature.number, radius=radius, layer="numbers")
    return marks


def gate_boxes(page: Floats) -> tuple[Box, ...]:
    """Small boxes along the gate, which labels keep clear of."""
    first, last = gate_ends(page)
    half = 0.55
    return tuple(
        Box(left=x - half, top=y - half, width=2 * half, height=2 * half)
        for x, y in np.linspace(first, last, 5).tolist()
    )


def _start(centre: Floats, place: Floats, *, size: tuple[float, float]) -> tuple[Mark, ...]:
    wide, tall = size
    x, y = centre.tolist()
    box = Box(left=x - wide / 2, top=y - tall / 2, width=wide, height=tall)
    em = tall * 0.82
    return (
        *leader_mark((place[0], place[1]), (x, y), short=tall / 2, layer="gate"),
        panel(box, fill=palette.INK, layer="gate"),
        text(x, y + 0.357 * em, START_WORDS, em, anchor="middle", bold=True, colour="#ffffff"),
    )
