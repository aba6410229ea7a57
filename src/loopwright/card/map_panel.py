"""The map on the card: trails, loop, numbered features, gate, north and scale.

Gets what a card is made from and a box; gives marks. Promises: numbers do not cover each other.
"""

from __future__ import annotations

import numpy as np

from loopwright.card import palette
from loopwright.card.boxes import Box, panel, text
from loopwright.card.furniture import BLOCK_MM, furniture_box, furniture_marks
from loopwright.card.labels import place_labels
from loopwright.card.map_marks import closely, gate_marks, map_marks, window_on
from loopwright.card.number_marks import label_marks, leader_mark, listed, shape_mark
from loopwright.card.sheet import CardInput
from loopwright.model.arrays import Floats
from loopwright.model.course import Course
from loopwright.model.picture import Mark

MARGIN_MM = 9.0
START_WORDS = "START"


def map_panel(sheet: CardInput, box: Box, *, radius: float = 1.9) -> tuple[Mark, ...]:
    """Draw the map; ``radius`` is the size of the numbers in millimetres."""
    course = sheet.course
    window = window_on(course.xy, box, margin_mm=min(MARGIN_MM, box.height / 6))
    page = window.to_page(course.xy)
    spots = feature_places(course, page)
    corner = furniture_box(np.vstack((closely(page), spots)), box, size=_block(box))
    marks: list[Mark] = list(map_marks(course.xy, window, background=sheet.background))
    if not sheet.hide_start:
        marks += gate_marks(page, theme=palette.LIGHT)
    marks += _features(sheet, page, spots, box=box, corner=corner, radius=radius)
    marks += furniture_marks(corner, window, sheet.units)
    marks.append(panel(box, fill=None, edge=palette.LIGHT.rule, width=0.25, layer="frame"))
    return tuple(marks)


def _block(box: Box) -> tuple[float, float]:
    return min(BLOCK_MM[0], 0.4 * box.width), BLOCK_MM[1]


def feature_places(course: Course, page: Floats) -> Floats:
    """Page places ``(k, 2)`` of the features: a corner's tightest point, else the middle."""
    metres = np.array([feature.at_m for feature in listed(course.features)], dtype=np.float64)
    if not len(metres):
        return np.zeros((0, 2))
    x = np.interp(metres, course.dist_m, page[:, 0])
    y = np.interp(metres, course.dist_m, page[:, 1])
    return np.column_stack((x, y))


def _features(
    sheet: CardInput, page: Floats, spots: Floats, *, box: Box, corner: Box, radius: float
) -> list[Mark]:
    features = listed(sheet.course.features)
    start_size = (11.5 * radius / 1.9, 3.2 * radius / 1.9)
    sizes = np.full((len(spots), 2), 2 * radius)
    places = spots
    if not sheet.hide_start:
        places = np.vstack((page[:1], spots))
        sizes = np.vstack((start_size, sizes))
    centres = place_labels(places, sizes, line=closely(page), box=box.inset(0.8), blocked=(corner,))
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
