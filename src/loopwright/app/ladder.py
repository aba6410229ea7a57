"""The ladder: weekly hours as bars, the length of hard efforts as steps down to race day.

Gets weeks; paints them. Promises: both are also told in words for those who cannot see them.
"""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from loopwright.app.look import SMALL_PT, Look
from loopwright.app.season_rows import Week
from loopwright.app.words import say

HIGH_PX = 78


class Ladder(QWidget):
    """The chart."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.weeks: tuple[Week, ...] = ()
        self.chosen = -1
        self.setAccessibleName(say("Hours and effort length, week by week"))
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)

    def sizeHint(self) -> QSize:
        """Room for bars and words."""
        return QSize(240, self.look.px(HIGH_PX))

    def show_weeks(self, weeks: Sequence[Week]) -> None:
        """Show weeks."""
        self.weeks = tuple(weeks)
        self.setAccessibleDescription(
            "; ".join(
                say("{hours} h, efforts of {effort} min", hours=f"{w.minutes / 60:.1f}",
                    effort=f"{w.effort:.0f}")
                for w in weeks
            )
        )  # fmt: skip
        self.setFixedHeight(self.look.px(HIGH_PX))
        self.update()

    def caption(self) -> str:
        """Say what bars and line are."""
        efforts = [w.effort for w in self.weeks if w.effort > 0]
        if not efforts:
            return say("Bars: hours.")
        return say("Bars: hours. Line: effort length, {a} to {b} min.",
                   a=f"{efforts[0]:.0f}", b=f"{efforts[-1]:.0f}")  # fmt: skip

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint bars and steps."""
        if not self.weeks:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setFont(self.look.font(SMALL_PT))
        px = self.look.px
        box = QRectF(self.rect()).adjusted(px(2), px(4), -px(2), -px(18))
        self._paint_bars(painter, box)
        self._paint_steps(painter, box)
        self._paint_words(painter, box)
        painter.end()

    def _paint_bars(self, painter: QPainter, box: QRectF) -> None:
        most = max(w.minutes for w in self.weeks) or 1.0
        step = box.width() / len(self.weeks)
        theme = self.look.theme
        painter.setPen(Qt.PenStyle.NoPen)
        for number, week in enumerate(self.weeks):
            high = box.height() * week.minutes / most
            place = QRectF(box.left() + number * step + 1, box.bottom() - high, step - 2, high)
            painter.setBrush(QColor(theme.accent_soft if number != self.chosen else theme.accent))
            painter.drawRect(place)

    def _paint_steps(self, painter: QPainter, box: QRectF) -> None:
        most = max(w.effort for w in self.weeks)
        if most <= 0:
            return
        step = box.width() / len(self.weeks)
        points = []
        for number, week in enumerate(self.weeks):
            if week.effort > 0:
                y = box.bottom() - box.height() * week.effort / most
                left = box.left() + number * step
                points += [QPointF(left, y), QPointF(left + step, y)]
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(QColor(self.look.theme.ink), 2.0))
        painter.drawPolyline(QPolygonF(points))

    def _paint_words(self, painter: QPainter, box: QRectF) -> None:
        painter.setPen(QColor(self.look.theme.soft_ink))
        low = QRectF(box.left(), box.bottom() + 1, box.width(), self.look.px(17))
        left, right = Qt.AlignmentFlag.AlignLeft, Qt.AlignmentFlag.AlignRight
        painter.drawText(low, int(left), say("now"))
        painter.drawText(low, int(right), say("race day"))
