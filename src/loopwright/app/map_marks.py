"""What is painted on the map at constant size: arrows, feature signs, gate, scale bar, north, key.

Gets a painter in device pixels and the places to paint at. Promises: signs keep their size at any
zoom, overlapping feature signs give way to the lower number, and the key lists what is on show.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache

import numpy as np
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import (
    QColor,
    QFont,
    QFontMetrics,
    QImage,
    QPainter,
    QPainterPath,
    QPen,
    QPolygonF,
)

from loopwright import units
from loopwright.app.lines import polygon
from loopwright.app.look import SMALL_PT, Look
from loopwright.app.map_hits import arrow_metres, headings_at, lap_point, lap_points
from loopwright.app.words import say
from loopwright.card.palette import FEATURE, OKABE_ITO
from loopwright.card.shapes import outline
from loopwright.model.arrays import Floats
from loopwright.model.course import Course, CourseFeature
from loopwright.model.ground import FeatureKind
from loopwright.units import Units

ToPixels = Callable[[float, float], QPointF]
"""From local metres (east, north) to pixels of the view."""
SLOWER, FASTER = OKABE_ITO["vermillion"], OKABE_ITO["sky"]
ARROW_EVERY_PX = 110.0
SIGN_PX = 6.0
SIGN_OFF_PX = 14.0
"""Feature signs stand beside the line, to the right as ridden, so that they do not hide it."""
LEFT = 0.8
"""So much further off where that is left on the map: the number stands between sign and line."""
FIGURES_READY = 60
"""Few laps have more features."""


def paint_arrows(painter: QPainter, course: Course, *, to_px: ToPixels, look: Look,
                 metres_a_pixel: float) -> None:  # fmt: skip
    """Paint small arrow heads along the loop, pointing the way it is ridden."""
    painter.setPen(QPen(QColor(look.theme.trail_casing), 1.2))
    painter.setBrush(QColor(look.theme.accent))
    at_m = arrow_metres(course, ARROW_EVERY_PX * metres_a_pixel)
    turns = (-headings_at(course, at_m)).tolist()
    for (x, y), turn in zip(lap_points(course, at_m).tolist(), turns, strict=True):
        painter.drawPolygon(_turned(((9, 0), (-6, 6), (-3, 0), (-6, -6)), to_px(x, y), turn))


def paint_part(painter: QPainter, points: QPolygonF, *, slower: bool, look: Look) -> None:
    """Paint a line in pixels where time was lost (wide) or won (thin) over the loop."""
    colour = SLOWER if slower else FASTER
    painter.setPen(QPen(QColor(look.theme.trail_casing), 9.0 if slower else 6.0))
    painter.drawPolyline(points)
    painter.setPen(QPen(QColor(colour), 7.0 if slower else 3.5))
    painter.drawPolyline(points)


def paint_asked(painter: QPainter, xy: Floats, *, to_px: ToPixels, look: Look) -> None:
    """Paint a part ``(n, 2)`` asked about: a disc where it begins, a head at its end."""
    points = [to_px(x, y) for x, y in xy.tolist()]
    for colour, width in ((look.theme.trail_casing, 11.0), (look.theme.accent, 6.0)):
        painter.setPen(QPen(QColor(colour), width, Qt.PenStyle.SolidLine, Qt.PenCapStyle.RoundCap))
        painter.drawPolyline(QPolygonF(points))
    painter.setPen(QPen(QColor(look.theme.trail_casing), 1.5))
    painter.setBrush(QColor(look.theme.accent))
    painter.drawEllipse(points[0], 7.0, 7.0)
    before, after = xy[max(0, len(xy) - 3)], xy[-1]
    turn = -math.atan2(after[1] - before[1], after[0] - before[0])
    painter.drawPolygon(_turned(((14, 0), (-7, 10), (-2, 0), (-7, -10)), points[-1], turn))


def paint_way(painter: QPainter, xy: Floats, *, to_px: ToPixels, look: Look) -> None:
    """Paint an open arrow in the middle of a stretch ``(n, 2)``, the way it is drawn."""
    middle = len(xy) // 2
    before, after = xy[max(0, middle - 2)], xy[min(len(xy) - 1, middle + 2)]
    turn = -math.atan2(after[1] - before[1], after[0] - before[0])
    place = to_px(float(xy[middle][0]), float(xy[middle][1]))
    painter.setPen(QPen(QColor(look.theme.ink), 1.5))
    painter.setBrush(QColor(look.theme.paper))
    painter.drawPolygon(_turned(((10, 0), (-6, 7), (-2, 0), (-6, -7)), place, turn))


def _turned(
    corners: Sequence[tuple[float, float]], middle: QPointF, turn: float, size: float = 1.0
) -> QPolygonF:
    cos, sin = math.cos(turn) * size, math.sin(turn) * size
    return QPolygonF(
        [QPointF(middle.x() + x * cos - y * sin, middle.y() + x * sin + y * cos)
         for x, y in corners]
    )  # fmt: skip


def paint_gate(painter: QPainter, course: Course, *, to_px: ToPixels, look: Look) -> None:
    """Paint the start gate across the trail, chequered, with its name."""
    middle = to_px(*lap_point(course, 0.0))
    turn = -float(headings_at(course, np.zeros(1))[0])
    painter.setPen(QPen(QColor(look.theme.ink), 1.0))
    for row in range(2):
        for step in range(-3, 3):
            dark = (row + step) % 2 == 0
            painter.setBrush(QColor(look.theme.ink if dark else look.theme.paper))
            x, y = (row - 1) * 5.0, step * 5.0
            box = ((x, y), (x + 5, y), (x + 5, y + 5), (x, y + 5))
            painter.drawPolygon(_turned(box, middle, turn))


def placed_signs(
    features: Sequence[CourseFeature], course: Course, *, to_px: ToPixels, size: float
) -> list[tuple[CourseFeature, QPointF]]:
    """Choose which feature signs have room, and where; lower numbers come first."""
    taken: list[tuple[float, float]] = []
    chosen: list[tuple[CourseFeature, QPointF]] = []
    at_m = np.array([feature.at_m for feature in features])
    sides = (math.pi / 2 - headings_at(course, at_m)).tolist()
    off = SIGN_OFF_PX * size / SIGN_PX
    for feature, (x, y), side in zip(
        features, lap_points(course, at_m).tolist(), sides, strict=True
    ):
        middle = to_px(x, y)
        east, south = math.cos(side), math.sin(side)
        far = off * (1.0 + LEFT * max(-east, 0.0))
        across, down = middle.x() + far * east, middle.y() + far * south
        if all(abs(across - a) > 4.4 * size or abs(down - d) > 2.2 * size for a, d in taken):
            taken.append((across, down))
            chosen.append((feature, QPointF(across, down)))
    return chosen


def paint_signs(painter: QPainter, course: Course, *, to_px: ToPixels, look: Look) -> None:
    """Paint feature signs with their numbers."""
    size = look.px(SIGN_PX)
    shown = [f for f in course.features if f.kind is not FeatureKind.STEADY]
    paint_numbered(
        painter, placed_signs(shown, course, to_px=to_px, size=size), size=size, look=look
    )


def paint_numbered(
    painter: QPainter,
    placed: Sequence[tuple[CourseFeature, QPointF]],
    *,
    size: float,
    look: Look,
) -> None:
    """Paint feature signs, and to the right of each its number, from pictures kept of them."""
    ratio = painter.device().devicePixelRatio()
    for feature, place in placed:
        image = sign_image(feature.kind, feature.number, size=size, look=look, ratio=ratio)
        corner = QPointF(round(place.x() - 2 * size), round(place.y() - 2 * size))
        painter.drawImage(corner, image)


def paint_sign(
    painter: QPainter, kind: FeatureKind, *, at: QPointF, size: float, look: Look
) -> None:
    """Paint one feature sign: its shape in its colour, edged in ink."""
    style = FEATURE[kind]
    painter.setPen(QPen(QColor(look.theme.ink), 1.0))
    painter.setBrush(QColor(style.colour))
    painter.drawPolygon(polygon(outline(style.shape) * size + (at.x(), at.y())))


@lru_cache(maxsize=512)
def sign_image(kind: FeatureKind, number: int, *, size: float, look: Look, ratio: float) -> QImage:
    """Give a sign with its number to the right, readable on any ground.

    The sign's middle stands two sizes from the left and the top; ``ratio`` is device pixels a
    pixel.
    """
    figures = _figures_image(number, size=size, look=look, ratio=ratio)
    image = figures.copy()
    image.fill(Qt.GlobalColor.transparent)
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    paint_sign(painter, kind, at=QPointF(2 * size, 2 * size), size=size, look=look)
    painter.drawImage(QPointF(), figures)
    painter.end()
    return image


def ready_figures(look: Look, ratio: float) -> Iterator[None]:
    """Paint the figures most laps need, before the first lap is there."""
    for number in range(1, FIGURES_READY + 1):
        _figures_image(number, size=look.px(SIGN_PX), look=look, ratio=ratio)
        yield


@lru_cache(maxsize=512)
def _figures_image(number: int, *, size: float, look: Look, ratio: float) -> QImage:
    """Give a sign's number alone: a halo is slow to paint, and the same for all kinds."""
    font, path = look.font(SMALL_PT - 1.0, bold=True), QPainterPath()
    path.addText(round(size * 3.15), round(size * 2.6), font, str(number))
    wide, high = path.boundingRect().right() + 2 * size, 4.0 * size
    image = QImage(
        math.ceil(wide * ratio), math.ceil(high * ratio), QImage.Format.Format_ARGB32_Premultiplied
    )
    image.setDevicePixelRatio(ratio)
    image.fill(Qt.GlobalColor.transparent)
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    _paint_haloed_path(painter, path, look=look)
    painter.end()
    return image


def paint_haloed(painter: QPainter, words: str, at: QPointF, *, font: QFont, look: Look) -> None:
    """Paint words from the left end of their base line, readable on any ground or picture."""
    outline_path = QPainterPath()
    outline_path.addText(at, font, words)
    _paint_haloed_path(painter, outline_path, look=look)


def _paint_haloed_path(painter: QPainter, outline_path: QPainterPath, *, look: Look) -> None:
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(QColor(look.theme.paper), 3.5))
    painter.drawPath(outline_path)
    painter.fillPath(outline_path, QColor(look.theme.ink))


def bar_length_m(metres_a_pixel: float, look: Look, *, wanted_px: float = 110.0) -> float:
    """Round length for the scale bar, at most ``wanted_px`` long, in metres."""
    unit = units.FOOT_M if look.units is Units.IMPERIAL else 1.0
    most = metres_a_pixel * wanted_px / unit
    if most >= 5280 and look.units is Units.IMPERIAL:
        unit, most = units.MILE_M, most / 5280
    power = 10.0 ** math.floor(math.log10(max(most, 1e-6)))
    step = next(s for s in (5.0, 2.0, 1.0) if s * power <= most)
    return step * power * unit


def paint_scale(painter: QPainter, at: QPointF, *, metres_a_pixel: float, look: Look) -> None:
    """Paint the scale bar with its lower left end ``at``."""
    metres = bar_length_m(metres_a_pixel, look)
    wide = metres / metres_a_pixel
    left, right, low = at.x(), at.x() + wide, at.y()
    bar = QPolygonF([QPointF(left, low - 6), QPointF(left, low), QPointF(right, low),
                     QPointF(right, low - 6)])  # fmt: skip
    for colour, thick in ((look.theme.paper, 4.5), (look.theme.ink, 1.5)):
        painter.setPen(QPen(QColor(colour), thick))
        painter.drawPolyline(bar)
    long = metres >= (units.MILE_M if look.units is Units.IMPERIAL else 1000.0)
    words = (
        units.distance(metres, look.units, decimals=0) if long else units.short(metres, look.units)
    )
    font = look.font(SMALL_PT)
    between = QFontMetrics(font).horizontalAdvance(words) + 2 * 5 < wide
    place = QPointF(left + 5, low - (6 if between else 12))  # or above the ends of the bar
    paint_haloed(painter, words, place, font=font, look=look)


def paint_north(painter: QPainter, at: QPointF, *, look: Look) -> None:
    """Paint a north arrow, its foot ``at``."""
    ink, paper = QColor(look.theme.ink), QColor(look.theme.paper)
    right = _turned(((0, -22), (6, 0), (0, -5)), at, 0.0)
    left = _turned(((0, -22), (-6, 0), (0, -5)), at, 0.0)
    for pen, half in ((QPen(paper, 4.0), paper), (QPen(ink, 1.2), ink)):
        painter.setPen(pen)
        painter.setBrush(half)
        painter.drawPolygon(right)
        painter.setBrush(paper)
        painter.drawPolygon(left)
    font, words = look.font(SMALL_PT, bold=True), say("N")
    wide = QFontMetrics(font).horizontalAdvance(words)
    place = QPointF(at.x() - wide / 2, at.y() + look.px(14))
    paint_haloed(painter, words, place, font=font, look=look)


def paint_mark(painter: QPainter, at: QPointF, *, look: Look) -> None:
    """Paint the place pointed at: a ring that shows on any colour."""
    painter.setBrush(QColor(look.theme.paper))
    painter.setPen(QPen(QColor(look.theme.ink), 3.0))
    painter.drawEllipse(at, 7.0, 7.0)
