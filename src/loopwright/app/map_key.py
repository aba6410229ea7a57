"""The key of the map: what its lines and signs mean.

Gets pens and kinds that show; paints a panel of samples and words. Promises: it lists what is on
show and nothing else, goes side by side where the map is low, and never hides most of the map.
"""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QPainter, QPen

from loopwright.app.look import SMALL_PT, Look
from loopwright.app.map_colours import Pen
from loopwright.app.map_marks import paint_sign
from loopwright.app.words import say
from loopwright.card.palette import FEATURE
from loopwright.model.ground import FeatureKind

KEY_TOP_PX = 56
"""Above this stand the colours and the zoom."""
MOST_WIDE = 0.72
"""Of the map's width the key takes no more than this."""

Row = tuple[Pen | FeatureKind, str]


def paint_key(painter: QPainter, corner: QPointF, *, pens: Sequence[Pen],
              kinds: Sequence[FeatureKind], look: Look) -> QRectF:  # fmt: skip
    """Paint the key with its lower right ``corner``; gives the box it took.

    Where there is no room for it below the panel at the top, it is left out.
    """
    rows: list[Row] = [(pen, say(pen.words)) for pen in pens]
    rows += [(kind, say(FEATURE[kind].words)) for kind in kinds]
    row, pad = look.px(19), look.px(8)
    painter.setFont(look.font(SMALL_PT))
    fitting = int((corner.y() - look.px(KEY_TOP_PX) - 2 * pad) // row)
    if not rows or fitting < 1:
        return QRectF()
    share = _share(len(rows), fitting)
    columns = [rows[first : first + share] for first in range(0, len(rows), share)]
    sample = look.px(34)
    metrics = painter.fontMetrics()
    wides = [max(metrics.horizontalAdvance(words) for _what, words in column) + sample + 3 * pad
             for column in columns]  # fmt: skip
    wide, high = sum(wides), len(columns[0]) * row + 2 * pad
    if len(columns) > 1 and wide > MOST_WIDE * corner.x():
        return QRectF()
    box = QRectF(corner.x() - wide, corner.y() - high, wide, high)
    painter.setPen(QPen(QColor(look.theme.rule), 1.0))
    painter.setBrush(QBrush(look.colour("paper", 235)))
    painter.drawRoundedRect(box, 4, 4)
    left = box.left()
    for column, across in zip(columns, wides, strict=True):
        _paint_column(painter, column, QRectF(left, box.top(), across, high), look)
        left += across
    return box


def _share(rows: int, fitting: int) -> int:
    """Rows a column, so that columns are about as high as one another."""
    columns = -(-rows // fitting)
    return -(-rows // columns)


def _paint_column(painter: QPainter, rows: Sequence[Row], box: QRectF, look: Look) -> None:
    row, pad, sample = look.px(19), look.px(8), look.px(34)
    font = look.font(SMALL_PT)
    for number, (what, words) in enumerate(rows):
        middle = box.top() + pad + (number + 0.5) * row
        left = box.left() + pad
        _paint_sample(painter, what, QRectF(left, middle, sample, 0.0), look)
        painter.setFont(font)
        painter.setPen(QColor(look.theme.ink))
        place = QRectF(left + sample + pad, middle - row / 2, box.width(), row)
        painter.drawText(place, int(Qt.AlignmentFlag.AlignVCenter), words)


def _paint_sample(painter: QPainter, what: Pen | FeatureKind, line_box: QRectF, look: Look) -> None:
    """Paint a sign in the middle of a line, or the line itself."""
    if isinstance(what, FeatureKind):
        paint_sign(painter, what, at=line_box.center(), size=look.px(6.5), look=look)
        return
    line = QPen(QColor(what.colour), what.width)
    line.setCapStyle(Qt.PenCapStyle.FlatCap)
    if what.dash:
        line.setDashPattern([float(part) for part in what.dash])
    painter.setPen(line)
    painter.drawLine(line_box.topLeft(), line_box.topRight())
