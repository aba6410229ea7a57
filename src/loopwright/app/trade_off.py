"""Length against match against repeats: what more length or a repeat would buy.

Gets a window; gives a small chart and a table of loops none of which is beaten in all three.
Promises: choosing a point or a row shows that loop on the map; each loop is the best of its length.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QDialog, QVBoxLayout, QWidget

from loopwright import units
from loopwright.app.away import weigh_here
from loopwright.app.by_hand import Asked, saved
from loopwright.app.look import SMALL_PT, Look
from loopwright.app.parts import button, label
from loopwright.app.sheet import fit_screen
from loopwright.app.tables import Table
from loopwright.app.words import say
from loopwright.jobs import Report
from loopwright.model.loops import SavedLoop

if TYPE_CHECKING:
    from loopwright.app.window import Window
    from loopwright.loops.trade_off import Offer

MOST_REPEATS = 1
"""Repeats are looked at even where none are wished, so that their price can be seen."""
NEAR_PX = 14


@dataclass(frozen=True, kw_only=True, eq=False)
class Point:
    """One loop of the front, ready to be shown."""

    offer: Offer
    loop: SavedLoop


class FrontChart(QWidget):
    """Match over length; a ring where a stretch is ridden twice."""

    picked = Signal(int)

    def __init__(self, look: Look, points: Sequence[Point]) -> None:
        super().__init__()
        self.look, self.points, self.chosen = look, points, -1
        self.setAccessibleName(say("Match over length"))
        self.setMinimumHeight(look.px(110))

    def sizeHint(self) -> QSize:
        """Wide and low."""
        return QSize(self.look.px(460), self.look.px(190))

    def choose(self, place: int) -> None:
        """Mark a point."""
        self.chosen = place
        self.update()

    def _field(self) -> QRectF:
        px = self.look.px
        return QRectF(px(52), px(10), self.width() - px(68), self.height() - px(32))

    def spot(self, place: int) -> QPointF:
        """Where a point lies on the widget."""
        field, (left, right), (low, high) = self._field(), *self._limits()
        loop = self.points[place].offer.loop
        x = (loop.length_m - left) / (right - left)
        y = (loop.match - low) / (high - low)
        return QPointF(field.left() + x * field.width(), field.bottom() - y * field.height())

    def _limits(self) -> tuple[tuple[float, float], tuple[float, float]]:
        lengths = [p.offer.loop.length_m for p in self.points]
        matches = [p.offer.loop.match for p in self.points]
        wide = max(max(lengths) - min(lengths), 200.0)
        high = max(max(matches) - min(matches), 0.04)
        return (
            (min(lengths) - 0.05 * wide, min(lengths) + 1.05 * wide),
            (min(matches) - 0.1 * high, min(matches) + 1.1 * high),
        )

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Pick the nearest point."""
        gaps = [
            (event.position() - self.spot(place)).manhattanLength()
            for place in range(len(self.points))
        ]
        if gaps and min(gaps) <= self.look.px(NEAR_PX):
            self.picked.emit(gaps.index(min(gaps)))

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint axes, the front and its points."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        theme, field = self.look.theme, self._field()
        painter.setPen(QPen(QColor(theme.rule), 1))
        painter.drawLine(field.bottomLeft(), field.bottomRight())
        painter.drawLine(field.bottomLeft(), field.topLeft())
        self._paint_words(painter, field)
        for again in (False, True):
            self._paint_line(painter, again=again)
        for place in range(len(self.points)):
            self._paint_point(painter, place)
        painter.end()

    def _paint_words(self, painter: QPainter, field: QRectF) -> None:
        look = self.look
        painter.setFont(look.font(SMALL_PT))
        painter.setPen(QColor(look.theme.soft_ink))
        lengths = [p.offer.loop.length_m for p in self.points]
        matches = [p.offer.loop.match for p in self.points]
        right, middle = Qt.AlignmentFlag.AlignRight, Qt.AlignmentFlag.AlignVCenter
        centre = Qt.AlignmentFlag.AlignHCenter
        for extreme in (min(matches), max(matches)):
            y = self.spot(matches.index(extreme)).y()
            box = QRectF(0, y - 10, field.left() - look.px(6), 20)
            painter.drawText(box, int(right | middle), units.percent(extreme))
        wide = look.px(90)
        for extreme in (min(lengths), max(lengths)):
            x = min(self.spot(lengths.index(extreme)).x(), self.width() - wide / 2)
            box = QRectF(x - wide / 2, field.bottom() + 2, wide, look.px(18))
            painter.drawText(box, int(centre), units.distance(extreme, look.units))

    def _paint_line(self, painter: QPainter, *, again: bool) -> None:
        """Join the points that ride nothing twice, and apart from them those that do."""
        row = [i for i, p in enumerate(self.points) if (p.offer.repeated_m > 0) == again]
        style = Qt.PenStyle.DotLine if again else Qt.PenStyle.SolidLine
        painter.setPen(QPen(QColor(self.look.theme.soft_ink), 1.2, style))
        for one, other in pairwise(row):
            painter.drawLine(self.spot(one), self.spot(other))

    def _paint_point(self, painter: QPainter, place: int) -> None:
        theme, chosen = self.look.theme, place == self.chosen
        again = self.points[place].offer.repeated_m > 0
        painter.setPen(QPen(QColor(theme.accent), 2.0))
        painter.setBrush(QColor(theme.paper if again else theme.accent))
        size = self.look.px(7 if chosen else 5)
        painter.drawEllipse(self.spot(place), size, size)
        if chosen:
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(QColor(theme.ink), 1.5))
            painter.drawEllipse(self.spot(place), size + 3, size + 3)


class TradeOffDialog(QDialog):
    """Chart and table of the front."""

    def __init__(self, window: Window, points: Sequence[Point]) -> None:
        super().__init__(window)
        self.setWindowTitle(say("Length against match"))
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.desk, self.look, self.points = window.desk, window.look, points
        heads = [
            say("Length"),
            say("Match"),
            say("Ridden twice"),
            say("Score"),
            say("Best"),
        ]
        self.chart = FrontChart(window.look, points)
        self.table = Table(say("Loops by length"), heads, left=(0,), wide=0)
        self.table.show_rows([self._row(point) for point in points])
        self.table.itemSelectionChanged.connect(lambda: self._pick(self.table.currentRow()))
        self.chart.picked.connect(self.table.selectRow)
        hint = say(
            "Each is the best loop of its length: none of the others is better in match, length "
            "and repeats at once. Choose one to see it on the map."
        )
        lines = QVBoxLayout(self)
        lines.addWidget(label(hint, "soft"))
        self.table.let_shrink(window.look.px(120))
        lines.addWidget(self.chart)
        key = say("Up: share of the mix met. Right: length. Open ring: a stretch ridden twice.")
        lines.addWidget(label(key, "faint"))
        lines.addWidget(self.table, 1)
        lines.addWidget(button(say("Close"), self.close))
        fit_screen(self, QSize(window.look.px(560), window.look.px(600)))

    def _row(self, point: Point) -> list[str]:
        loop, look = point.offer.loop, self.look.units
        again = units.short(point.offer.repeated_m, look) if point.offer.repeated_m > 0 else ""
        best = say("proven") if point.offer.proven else say("so far")
        words = [units.distance(loop.length_m, look), units.percent(loop.match), again]
        return [*words, f"{loop.score:.1f}", best]

    def _pick(self, place: int) -> None:
        if 0 <= place < len(self.points):
            self.chart.choose(place)
            self.desk.show_loop(self.points[place].loop)


def weigh(window: Window) -> None:
    """Work the front out and show it."""
    desk = window.desk
    document, wishes = desk.document, desk.wishes

    def work(report: Report) -> list[Point]:
        asked = Asked.of(desk, None, report)
        most = max(MOST_REPEATS, wishes.repeats)
        offers = desk.away(weigh_here, (*asked.inputs, most), report)
        look = window.look.units
        return [
            Point(
                offer=offer,
                loop=saved(asked, offer.loop, units.distance(offer.loop.length_m, look)),
            )
            for offer in offers
        ]

    def show(points: list[Point]) -> None:
        if desk.document is not document:
            return
        if points:
            TradeOffDialog(window, points).show()
        else:
            desk.warn(say("No loop fits these wishes."))

    desk.jobs.start("weigh", work, on_done=show, on_failed=desk.failed)
