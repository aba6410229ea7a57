"""The height profile on the card, with the numbers of the map.

Gets a course and a box; gives marks. Promises: the grade shows without colour too, as rows of
small marks under the profile (one stroke for up or down, two from 10 %), and the height scale is
printed together with how much heights are drawn out against lengths.
"""

from __future__ import annotations

import numpy as np

from loopwright.card import palette
from loopwright.card.boxes import Box, panel, rule, stroke, text
from loopwright.card.labels import spread
from loopwright.card.number_marks import label_marks, listed
from loopwright.card.words import in_long, in_short, long_unit, short_unit
from loopwright.model.arrays import Floats
from loopwright.model.course import Course, mark_m
from loopwright.model.picture import Anchor, Mark, Shape
from loopwright.units import Units

AXIS_MM = 11.0
SIGNS_MM = 3.0
FOOT_MM = 3.6
SLICE_MM = 0.8
LEAST_RANGE_M = 30.0
GRADE_STEP = 0.02
GRADE_SPAN_M = 50.0
UP_FROM, STEEP_FROM = 0.03, 0.10
SIGN_EVERY_MM = 2.6
LEVEL_MM = 0.4
"""Free between numbers, beside and above each other."""


class Scales:
    """Lap metres and heights to page millimetres."""

    def __init__(self, course: Course, plot: Box) -> None:
        """Fit the course's length and heights into ``plot``."""
        self.plot = plot
        self.length_m = max(course.length_m, 1.0)
        low, high = float(np.nanmin(course.ele_m)), float(np.nanmax(course.ele_m))
        extra = max(0.0, LEAST_RANGE_M - (high - low)) / 2
        self.low, self.high = low - extra, high + extra

    def x(self, metres: Floats) -> Floats:
        """Page x of lap metres."""
        return self.plot.left + metres / self.length_m * self.plot.width

    def y(self, heights: Floats) -> Floats:
        """Page y of heights."""
        share = (heights - self.low) / (self.high - self.low)
        return self.plot.bottom - share * self.plot.height


def profile_panel(
    course: Course, box: Box, units: Units, *, radius: float = 1.9, size: float = 2.7
) -> tuple[Mark, ...]:
    """Draw the profile; without heights one honest line says so."""
    if not course.has_heights:
        words = "No heights in these rides, so no profile."
        return (text(box.left, box.top + 4, words, 3.0, colour=palette.LIGHT.soft_ink),)
    levels = _levels(course, box, radius)
    labels = levels * (2 * radius + LEVEL_MM) + 2.6 - LEVEL_MM if course.features else 1.0
    plot = Box(
        left=box.left + AXIS_MM,
        top=box.top + labels,
        width=box.width - AXIS_MM - 3.0,
        height=box.height - labels - SIGNS_MM - FOOT_MM,
    )
    scales = Scales(course, plot)
    return (
        *_slices(course, scales),
        *_height_axis(scales, units, size),
        *_outline(course, scales),
        *_grade_signs(course, scales),
        *_length_axis(scales, units, size),
        *_numbers(course, scales, box, radius=radius, levels=levels),
    )


def _levels(course: Course, box: Box, radius: float) -> int:
    """Tell whether the numbers stand on one level or, where that is too narrow, on two."""
    gaps = max(1, len(course.features) - 1)
    return 1 if gaps * (2 * radius + LEVEL_MM) <= box.width - 2 * radius else 2


def _slices(course: Course, scales: Scales) -> list[Mark]:
    count = max(2, round(scales.plot.width / SLICE_MM))
    edges = np.linspace(0.0, scales.length_m, count + 1)
    classes = np.round(_grade_at(course, (edges[1:] + edges[:-1]) / 2) / GRADE_STEP)
    cuts = np.concatenate(([0], np.flatnonzero(np.diff(classes)) + 1, [count]))
    marks: list[Mark] = []
    for first, last in zip(cuts[:-1].tolist(), cuts[1:].tolist(), strict=True):
        at_m = edges[first : last + 1]
        top = np.column_stack((scales.x(at_m), scales.y(_height_at(course, at_m))))
        feet = np.array([(top[-1, 0], scales.plot.bottom), (top[0, 0], scales.plot.bottom)])
        fill = palette.grade_colour(float(classes[first]) * GRADE_STEP)
        marks.append(Shape(points=np.vstack((top, feet)), fill=fill, edge=fill, width_mm=0.05))
    return marks


def _height_at(course: Course, at_m: Floats) -> Floats:
    known = np.isfinite(course.ele_m)
    return np.interp(at_m, course.dist_m[known], course.ele_m[known])


def _grade_at(course: Course, at_m: Floats) -> Floats:
    """Grade over ``GRADE_SPAN_M`` about each place: what the drawn outline shows, less restless."""
    before = np.clip(at_m - GRADE_SPAN_M / 2, 0.0, course.length_m)
    after = np.clip(at_m + GRADE_SPAN_M / 2, 0.0, course.length_m)
    rise = _height_at(course, after) - _height_at(course, before)
    return np.asarray(rise / np.maximum(after - before, 1.0))


def _outline(course: Course, scales: Scales) -> tuple[Mark, ...]:
    at_m = np.linspace(0.0, scales.length_m, max(2, round(scales.plot.width / 0.4)))
    points = np.column_stack((scales.x(at_m), scales.y(_height_at(course, at_m))))
    return (stroke(points, width=0.4, layer="profile"),)


def _height_axis(scales: Scales, units: Units, size: float) -> list[Mark]:
    plot = scales.plot
    low, high = in_short(scales.low, units), in_short(scales.high, units)
    gap = _nice_step((high - low) * size * 1.6 / plot.height)
    ticks = np.arange(np.ceil(low / gap), np.floor(high / gap) + 1) * gap
    marks: list[Mark] = []
    for tick in ticks.tolist():
        y = plot.bottom - (tick - low) / (high - low) * plot.height
        marks.append(rule(plot, y))
        words = f"{tick:.0f} {short_unit(units)}" if tick == ticks[-1] else f"{tick:.0f}"
        grey = palette.LIGHT.soft_ink
        marks.append(
            text(plot.left - 1.2, y + 0.36 * size, words, size, anchor="right", colour=grey)
        )
    return marks


def _nice_step(least: float) -> float:
    power = 10.0 ** np.floor(np.log10(max(least, 1e-9)))
    return float(min(s * power for s in (1.0, 2.0, 5.0, 10.0) if s * power >= least))


def _length_axis(scales: Scales, units: Units, size: float) -> list[Mark]:
    plot = scales.plot
    whole = in_long(scales.length_m, units)
    step = _nice_step(whole * 14.0 / plot.width)
    base = plot.bottom + SIGNS_MM
    marks: list[Mark] = [rule(plot, plot.bottom, colour=palette.INK)]
    for tick in (*np.arange(0.0, whole - 0.8 * step, step).tolist(), whole):
        x = plot.left + tick / whole * plot.width
        end = tick == whole
        words = f"{tick:.2f} {long_unit(units)}" if end else f"{tick:g}"
        at: Anchor = "right" if end else "middle"
        x_text = x + 3.0 if end else x
        marks.append(
            text(x_text, base + size, words, size, anchor=at, colour=palette.LIGHT.soft_ink)
        )
        marks.append(stroke(((x, plot.bottom), (x, plot.bottom + 0.9)), width=0.2))
    return marks


def _grade_signs(course: Course, scales: Scales) -> list[Mark]:
    count = max(1, int(scales.plot.width / SIGN_EVERY_MM))
    metres = (np.arange(count) + 0.5) / count * scales.length_m
    y = scales.plot.bottom + SIGNS_MM / 2 + 0.25
    marks: list[Mark] = []
    for x, grade in zip(scales.x(metres).tolist(), _grade_at(course, metres).tolist(), strict=True):
        marks += grade_sign(x, y, grade)
    return marks


def grade_sign(x: float, y: float, grade: float, *, size: float = 0.95) -> tuple[Mark, ...]:
    """Draw one or two small chevrons, pointing up or down; nothing on level ground."""
    if abs(grade) < UP_FROM:
        return ()
    way = -1.0 if grade > 0 else 1.0
    flat = np.array(
        [(-size, -0.32 * size * way), (0.0, 0.42 * size * way), (size, -0.32 * size * way)]
    )
    offsets = (-0.45, 0.45) if abs(grade) >= STEEP_FROM else (0.0,)
    return tuple(
        stroke(flat + np.array((x, y + off)), width=0.28, layer="signs") for off in offsets
    )


def _numbers(course: Course, scales: Scales, box: Box, *, radius: float, levels: int) -> list[Mark]:
    """Draw the numbers in riding order, on ``levels`` in turn, each with a line to its place."""
    features = listed(course.features)
    at_m = np.array([mark_m(feature) for feature in features], dtype=np.float64)
    order = np.argsort(at_m, kind="stable")
    wanted = scales.x(at_m[order])
    room = box.width - 2 * radius
    gap = min((2 * radius + LEVEL_MM) / levels, room / max(1, len(features) - 1))
    centres = spread(wanted, gap, low=box.left + radius, high=box.right - radius)
    feet = scales.y(_height_at(course, at_m[order]))
    rows = box.top + radius + (np.arange(len(features)) % levels) * (2 * radius + LEVEL_MM)
    low = box.top + levels * (2 * radius + LEVEL_MM) - LEVEL_MM
    marks: list[Mark] = []
    for x, y, tip, foot in zip(
        centres.tolist(), rows.tolist(), wanted.tolist(), feet.tolist(), strict=True
    ):
        knee = scales.plot.top - 0.8
        points = ((x, y + radius), (x, low), (tip, knee), (tip, foot))
        marks.append(stroke(points, colour=palette.LIGHT.soft_ink, width=0.14, layer="numbers"))
    for i, x, y in zip(order.tolist(), centres.tolist(), rows.tolist(), strict=True):
        marks += label_marks(x, y, features[i].number, radius=radius, layer="numbers")
    return marks


def grade_key(box: Box, *, size: float) -> tuple[Mark, ...]:
    """Draw the colours and marks of grades at the top right of ``box``."""
    marks: list[Mark] = []
    wide = 3.3 * size
    right = box.right
    y = box.top + 0.95 * size
    grades = (0.20, 0.15, 0.10, 0.05, 0.0, -0.05, -0.10, -0.15, -0.20)
    for grade in grades:
        swatch = Box(left=right - wide, top=y - 0.8 * size, width=wide, height=0.95 * size)
        fill = palette.grade_colour(grade)
        marks.append(panel(swatch, fill=fill, layer="key"))
        words = f"{grade * 100:+.0f}" if grade else "0"
        ink = palette.text_on(fill)
        marks.append(
            text(right - wide / 2, y - 0.02 * size, words, 0.98 * size, anchor="middle", colour=ink)
        )
        right -= wide
    words = "grade, %"
    marks.append(
        text(right - 0.5 * size, y, words, size, anchor="right", colour=palette.LIGHT.soft_ink)
    )
    return tuple(marks)
