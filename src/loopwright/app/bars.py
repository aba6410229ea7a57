"""Where the time went: one bar a split, to the right for slower, to the left for faster.

Gets names with seconds and their standard errors; paints bars. Promises: a difference smaller than
its standard error is drawn pale and says so; the sign is also written, so colour is not needed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from loopwright.app.look import SMALL_PT, Look
from loopwright.app.plain_text import tip
from loopwright.app.words import say
from loopwright.card.palette import OKABE_ITO

ROW_PX = 20
MOST_NAMES = 0.42
"""Share of the width that names may take; longer ones are whole in the tip."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """One split: ``seconds`` slower (positive) or faster than the target."""

    name: str
    seconds: float
    std_error_s: float

    @property
    def sure(self) -> bool:
        """Tell whether the difference is more than what the receiver may invent."""
        return abs(self.seconds) >= self.std_error_s

    def words(self) -> str:
        """Say the difference with its sign."""
        return f"{self.seconds:+.1f} s"


class Bars(QWidget):
    """The bar chart."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.bars: tuple[Bar, ...] = ()
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.setAccessibleName(say("Time against the target, split by split"))

    def show_bars(self, bars: Sequence[Bar]) -> None:
        """Show bars, one a row."""
        self.bars = tuple(bars)
        self.setFixedHeight(max(1, len(self.bars)) * self.look.px(ROW_PX))
        self.setAccessibleDescription("; ".join(f"{b.name} {b.words()}" for b in self.bars))
        self.setToolTip(tip("\n".join(f"{b.name}: {b.words()}" for b in self.bars)))
        self.update()

    def sizeHint(self) -> QSize:
        """As high as its rows."""
        return QSize(240, max(1, len(self.bars)) * self.look.px(ROW_PX))

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint rows."""
        painter = QPainter(self)
        painter.setFont(self.look.font(SMALL_PT))
        most = max((abs(bar.seconds) for bar in self.bars), default=1.0) or 1.0
        words_px, number_px = self._names_px(painter), self._numbers_px(painter)
        for number, bar in enumerate(self.bars):
            top = number * self.look.px(ROW_PX)
            self._paint_words(painter, bar, top, words_px=words_px, number_px=number_px)
            room = (self.width() - words_px - number_px) / 2
            self._paint_bar(painter, bar, top, middle=words_px + room, wide=room / most)
        painter.end()

    def _names_px(self, painter: QPainter) -> float:
        """Give the width of the names: what they need, up to what bars and numbers leave."""
        metrics = painter.fontMetrics()
        need = max((metrics.horizontalAdvance(bar.name) for bar in self.bars), default=0) + 8
        return min(need, MOST_NAMES * self.width())

    def _numbers_px(self, painter: QPainter) -> int:
        metrics = painter.fontMetrics()
        return max((metrics.horizontalAdvance(bar.words()) for bar in self.bars), default=0) + 4

    def _paint_words(
        self, painter: QPainter, bar: Bar, top: float, *, words_px: float, number_px: float
    ) -> None:
        look, high = self.look, self.look.px(ROW_PX)
        painter.setPen(QColor(look.theme.ink if bar.sure else look.theme.faint_ink))
        name = painter.fontMetrics().elidedText(
            bar.name, Qt.TextElideMode.ElideRight, int(words_px) - 6
        )
        left = int(Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft)
        painter.drawText(QRectF(0, top, words_px, high), left, name)
        right = int(Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignRight)
        painter.drawText(QRectF(self.width() - number_px, top, number_px, high), right,
                         bar.words())  # fmt: skip

    def _paint_bar(
        self, painter: QPainter, bar: Bar, top: float, *, middle: float, wide: float
    ) -> None:
        """Paint one bar from ``middle`` on, ``wide`` pixels a second."""
        high, long = self.look.px(ROW_PX), wide * abs(bar.seconds)
        left = middle if bar.seconds > 0 else middle - long
        colour = QColor(OKABE_ITO["vermillion" if bar.seconds > 0 else "blue"])
        colour.setAlpha(255 if bar.sure else 70)
        painter.fillRect(QRectF(left, top + high * 0.2, long, high * 0.6), colour)
