"""Paint a picture with a QPainter.

Gets a picture in millimetres and a painter; gives marks on whatever the painter paints on.
Promises: the painter comes back as it was.
"""

from __future__ import annotations

from functools import singledispatch

from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import (
    QBrush,
    QColor,
    QFont,
    QFontMetricsF,
    QPainter,
    QPen,
    QPolygonF,
)

from loopwright.model.arrays import Floats
from loopwright.model.picture import Disc, Line, Mark, Picture, Shape, Text
from loopwright.render.application import shipped_font

FONT_PIXELS = 100
"""Text is set at this size and scaled, so that every device gets the same advances."""
MIN_DASH = 0.01


def paint(picture: Picture, painter: QPainter, *, scale: float) -> None:
    """Paint all marks in order; ``scale`` is device units per millimetre."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setRenderHint(QPainter.RenderHint.TextAntialiasing)
    painter.setLayoutDirection(Qt.LayoutDirection.LayoutDirectionAuto)
    painter.scale(scale, scale)
    for mark in picture.marks:
        paint_mark(mark, painter)
    painter.restore()


@singledispatch
def paint_mark(mark: Mark, painter: QPainter) -> None:  # noqa: ARG001 - the fallback of dispatch
    """Paint one mark, in millimetres."""
    message = f"no way to paint a {type(mark).__name__}"
    raise TypeError(message)


@paint_mark.register
def _line(mark: Line, painter: QPainter) -> None:
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(_pen(mark.colour, mark.width_mm, mark.dash))
    painter.drawPolyline(polygon(mark.points))


@paint_mark.register
def _shape(mark: Shape, painter: QPainter) -> None:
    _fill_and_edge(painter, mark.fill, mark.edge, mark.width_mm)
    painter.drawPolygon(polygon(mark.points))


@paint_mark.register
def _disc(mark: Disc, painter: QPainter) -> None:
    _fill_and_edge(painter, mark.fill, mark.edge, mark.width_mm)
    painter.drawEllipse(QPointF(mark.x, mark.y), mark.radius_mm, mark.radius_mm)


@paint_mark.register
def _text(mark: Text, painter: QPainter) -> None:
    font = shipped_font(pixels=FONT_PIXELS, bold=mark.bold)
    words = shortened(mark, font)
    width = QFontMetricsF(font).horizontalAdvance(words)
    share = {"left": 0.0, "middle": 0.5, "right": 1.0}[mark.anchor]
    painter.save()
    painter.translate(mark.x, mark.y)
    painter.scale(mark.size_mm / FONT_PIXELS, mark.size_mm / FONT_PIXELS)
    painter.setFont(font)
    painter.setPen(colour(mark.colour))
    painter.drawText(QPointF(-share * width, 0.0), words)
    painter.restore()


def shortened(mark: Text, font: QFont) -> str:
    """Give the words, cut with an ellipsis when they are wider than the mark allows."""
    if mark.max_width_mm <= 0:
        return mark.words
    room = mark.max_width_mm * FONT_PIXELS / mark.size_mm
    return QFontMetricsF(font).elidedText(mark.words, Qt.TextElideMode.ElideRight, room + 0.5)


def polygon(points: Floats) -> QPolygonF:
    """Give ``(n, 2)`` points as a Qt polygon."""
    return QPolygonF([QPointF(x, y) for x, y in points.tolist()])


def colour(words: str) -> QColor:
    """Read ``#rrggbb`` or ``#rrggbbaa`` (Qt itself would take the alpha first)."""
    shade = QColor(words[:7])
    if len(words) == 9:
        shade.setAlpha(int(words[7:], 16))
    return shade


def _pen(shade: str, width_mm: float, dash: tuple[float, ...]) -> QPen:
    pen = QPen(colour(shade), width_mm)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    pen.setCapStyle(Qt.PenCapStyle.FlatCap if dash else Qt.PenCapStyle.RoundCap)
    if dash and width_mm > 0:
        pen.setDashPattern([max(part / width_mm, MIN_DASH) for part in dash])
    return pen


def _fill_and_edge(painter: QPainter, fill: str | None, edge: str | None, width: float) -> None:
    painter.setBrush(QBrush(colour(fill)) if fill else QBrush(Qt.BrushStyle.NoBrush))
    painter.setPen(_pen(edge, width, ()) if edge and width > 0 else QPen(Qt.PenStyle.NoPen))
