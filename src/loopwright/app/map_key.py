"""The key of the map: what its lines and signs mean.

Gets pens and kinds that show; paints a panel of samples and words. Promises: it lists what is on
show and nothing else, goes side by side where the map is low, and gives way where it would hide
much of the map: what it then leaves out is counted.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QFontMetrics, QPainter, QPen

from loopwright.app.look import SMALL_PT, Look
from loopwright.app.map_colours import Pen
from loopwright.app.map_marks import paint_sign
from loopwright.app.words import say
from loopwright.card.palette import FEATURE
from loopwright.model.ground import FeatureKind

ROW_PX, PAD_PX, SAMPLE_PX = 19, 8, 34
KEY_TOP_PX = 56
"""Above this stand the colours and the zoom."""
MOST_WIDE = 0.72
"""Of the map's width the key takes no more than this."""

MOST_AREA = 0.2
"""Of the map's area the key hides no more than this."""
FEWEST = 1 / 3
"""A key that could show less than this share of its rows is left out."""

Row = tuple[Pen | FeatureKind | None, str]
Columns = list[tuple[list[Row], float]]
"""Rows of each column, and its width."""


def paint_key(painter: QPainter, corner: QPointF, *, pens: Sequence[Pen],
              kinds: Sequence[FeatureKind], look: Look) -> QRectF:  # fmt: skip
    """Paint the key with its lower right ``corner``; gives the box it took.

    Where there is no room for it below the panel at the top, it is left out.
    """
    rows: list[Row] = [(pen, say(pen.words)) for pen in pens]
    rows += [(kind, say(FEATURE[kind].words)) for kind in kinds]
    painter.setFont(look.font(SMALL_PT))
    columns = _that_fit(rows, corner, painter.fontMetrics(), look)
    if not columns:
        return QRectF()
    wide, high = _size(columns, look)
    box = QRectF(corner.x() - wide, corner.y() - high, wide, high)
    painter.setPen(QPen(QColor(look.theme.rule), 1.0))
    painter.setBrush(QBrush(look.colour("paper", 235)))
    painter.drawRoundedRect(box, 4, 4)
    left = box.left()
    for column, across in columns:
        _paint_column(painter, column, QRectF(left, box.top(), across, high), look)
        left += across
    return box


def _that_fit(rows: list[Row], corner: QPointF, metrics: QFontMetrics, look: Look) -> Columns:
    """Give all rows in columns, or the first of them and how many more there are; none is none."""
    fitting = int((corner.y() - look.px(KEY_TOP_PX) - 2 * look.px(PAD_PX)) // look.px(ROW_PX))
    for count in range(len(rows), ceil(FEWEST * len(rows)) - 1, -1):
        more = len(rows) - count
        rest: list[Row] = [(None, say("and {n} more", n=more))] if more else []
        columns = _columns([*rows[:count], *rest], fitting, metrics, look)
        wide, high = _size(columns, look)
        beside = len(columns) > 1 and wide > MOST_WIDE * corner.x()
        if columns and not beside and wide * high <= MOST_AREA * corner.x() * corner.y():
            return columns
    return []


def _columns(rows: list[Row], fitting: int, metrics: QFontMetrics, look: Look) -> Columns:
    """Share rows out, ``fitting`` at most below one another."""
    if not rows or fitting < 1:
        return []
    share, beside = _share(len(rows), fitting), look.px(SAMPLE_PX) + 3 * look.px(PAD_PX)
    parts = [rows[first : first + share] for first in range(0, len(rows), share)]
    return [(part, beside + max(metrics.horizontalAdvance(words) for _what, words in part))
            for part in parts]  # fmt: skip


def _size(columns: Columns, look: Look) -> tuple[float, float]:
    """Width and height of the key."""
    longest = max((len(rows) for rows, _wide in columns), default=0)
    wide = sum(across for _rows, across in columns)
    return wide, longest * look.px(ROW_PX) + 2 * look.px(PAD_PX)


def _share(rows: int, fitting: int) -> int:
    """Rows a column, so that columns are about as high as one another."""
    columns = -(-rows // fitting)
    return -(-rows // columns)


def _paint_column(painter: QPainter, rows: Sequence[Row], box: QRectF, look: Look) -> None:
    row, pad, sample = look.px(ROW_PX), look.px(PAD_PX), look.px(SAMPLE_PX)
    font = look.font(SMALL_PT)
    for number, (what, words) in enumerate(rows):
        middle = box.top() + pad + (number + 0.5) * row
        left = box.left() + pad
        if what is not None:
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
