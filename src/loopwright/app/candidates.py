"""Loops on offer: small maps with numbers, side by side for comparing.

Gets loops, gives a list to pick from. Promises: the small map and the numbers come from the loop
itself; picking shows the loop on the big map and the profile.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFont, QFontMetrics, QPainter, QPen, QPolygonF, QResizeEvent
from PySide6.QtWidgets import (
    QListWidget,
    QListWidgetItem,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
)

from loopwright.app.lines import UNSEEN_PX, polygon, thin
from loopwright.app.look import BASE_PT, SMALL_PT, Look
from loopwright.app.plain_text import tip
from loopwright.app.wrapping import broken
from loopwright.model.arrays import Floats
from loopwright.model.loops import SavedLoop

MAP_PX = 72
MOST_MAP = 0.3
"""Of the width, the small map takes no more than this."""
ROW_PX = 18
PAD_PX = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """A loop with the words beside its small map: a title and lines of numbers."""

    loop: SavedLoop
    title: str
    lines: tuple[str, ...]


def small_map(line: Floats, side: float) -> Floats:
    """Fit a line of lon, lat (degrees) into a square, ``(n, 2)`` from its upper left corner."""
    middle = np.nanmean(line[:, 1])
    xy = np.column_stack((line[:, 0] * np.cos(np.radians(middle)), -line[:, 1]))
    low, high = xy.min(axis=0), xy.max(axis=0)
    scale = side / max(float((high - low).max()), 1e-12)
    return np.asarray((xy - (low + high) / 2) * scale + side / 2)


class _Painter(QStyledItemDelegate):
    def __init__(self, look: Look, owner: QListWidget) -> None:
        super().__init__(owner)
        self.look, self.owner = look, owner
        self._kept: dict[Offer, list[tuple[str, QFont, str]]] = {}
        self._maps: dict[SavedLoop, QPolygonF] = {}
        self._kept_for: tuple[Look, int] | None = None

    def forget_others(self, offers: Sequence[Offer]) -> None:
        """Drop what was kept of offers that are gone."""
        loops = {offer.loop for offer in offers}
        self._kept = {offer: rows for offer, rows in self._kept.items() if offer in offers}
        self._maps = {loop: line for loop, line in self._maps.items() if loop in loops}

    def sizeHint(
        self, _option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> QSize:
        offer = index.data(Qt.ItemDataRole.UserRole)
        return QSize(200, self.high(offer) if isinstance(offer, Offer) else 0)

    def high(self, offer: Offer) -> int:
        """Give the height of an offer in pixels: its small map, or its words if they take more."""
        high = len(self._rows(offer)) * self.look.px(ROW_PX)
        return max(high, self._map_px()) + 2 * PAD_PX

    def _map_px(self) -> int:
        """Give the side of the small map: words keep most of the width."""
        return min(self.look.px(MAP_PX), round(MOST_MAP * self.owner.viewport().width()))

    def _rows(self, offer: Offer) -> list[tuple[str, QFont, str]]:
        """Give what ``_wrapped`` gives; asked for many times while a list is laid out."""
        self._keep_for_now()
        if offer not in self._kept:
            self._kept[offer] = self._wrapped(offer)
        return self._kept[offer]

    def _small_map(self, loop: SavedLoop) -> QPolygonF:
        self._keep_for_now()
        if loop not in self._maps:
            line = small_map(loop.line, self._map_px() - 2 * PAD_PX)
            self._maps[loop] = polygon(thin([line], UNSEEN_PX)[0])
        return self._maps[loop]

    def _keep_for_now(self) -> None:
        now = (self.look, self.owner.viewport().width())
        if now != self._kept_for:
            self._kept, self._maps, self._kept_for = {}, {}, now

    def _wrapped(self, offer: Offer) -> list[tuple[str, QFont, str]]:
        """Give every line of words, wrapped to the width there is, with its font and colour."""
        look = self.look
        room = self.owner.viewport().width() - self._map_px() - 4 * PAD_PX
        rows = []
        parts = [(offer.title, look.font(BASE_PT, bold=True), look.theme.ink)]
        parts += [(words, look.font(SMALL_PT), look.theme.soft_ink) for words in offer.lines]
        for words, font, colour in parts:
            lines = broken(words, QFontMetrics(font), room).split("\n")
            rows += [(line, font, colour) for line in lines]
        return rows

    def paint(
        self,
        painter: QPainter,
        option: QStyleOptionViewItem,
        index: QModelIndex | QPersistentModelIndex,
    ) -> None:
        offer = index.data(Qt.ItemDataRole.UserRole)
        if not isinstance(offer, Offer):
            return
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        box = QRectF(option.rect)
        state = option.state
        chosen = bool(state & QStyle.StateFlag.State_Selected)
        self._paint_ground(painter, box, chosen=chosen)
        self._paint_loop(painter, box, offer, chosen=chosen)
        self._paint_words(painter, box, offer)
        painter.restore()

    def _paint_ground(self, painter: QPainter, box: QRectF, *, chosen: bool) -> None:
        theme = self.look.theme
        painter.fillRect(box, QColor(theme.accent_soft if chosen else theme.paper))
        painter.setPen(QPen(QColor(theme.rule), 1))
        painter.drawLine(box.bottomLeft(), box.bottomRight())
        if chosen:
            bar = QRectF(box.left(), box.top(), 4, box.height())
            painter.fillRect(bar, QColor(theme.accent))

    def _paint_loop(self, painter: QPainter, box: QRectF, offer: Offer, *, chosen: bool) -> None:
        side = self._map_px() - 2 * PAD_PX
        corner = box.topLeft() + QPointF(PAD_PX + 6, PAD_PX + (box.height() - side) / 2 - PAD_PX)
        line = self._small_map(offer.loop).translated(corner)
        theme = self.look.theme
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(QColor(theme.accent if chosen else theme.soft_ink), 2.2))
        painter.drawPolyline(line)
        painter.setBrush(QColor(theme.ink))
        painter.setPen(Qt.PenStyle.NoPen)
        painter.drawEllipse(line.first(), 3.0, 3.0)

    def _paint_words(self, painter: QPainter, box: QRectF, offer: Offer) -> None:
        left = box.left() + self._map_px() + 2 * PAD_PX
        high = self.look.px(ROW_PX)
        rows = self._rows(offer)
        top = box.top() + (box.height() - high * len(rows)) / 2
        for number, (words, font, colour) in enumerate(rows):
            painter.setFont(font)
            painter.setPen(QColor(colour))
            place = QRectF(left, top + number * high, box.right() - left - PAD_PX, high)
            painter.drawText(place, int(Qt.AlignmentFlag.AlignVCenter), words)


class Candidates(QListWidget):
    """A list of offers, as high as what it holds."""

    def __init__(self, look: Look, name: str) -> None:
        super().__init__()
        self.look = look
        self.setAccessibleName(name)
        self._painter = _Painter(look, self)
        self._offers: list[Offer] = []
        self.setItemDelegate(self._painter)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setSizeAdjustPolicy(QListWidget.SizeAdjustPolicy.AdjustToContents)

    def dress(self, look: Look) -> None:
        """Take another look."""
        self.look = self._painter.look = look
        self._fit_height()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Wrap the words anew."""
        super().resizeEvent(event)
        self._fit_height()

    def _fit_height(self) -> None:
        offers = [self.item(row).data(Qt.ItemDataRole.UserRole) for row in range(self.count())]
        rows = sum(self._painter.high(offer) for offer in offers)
        self.scheduleDelayedItemsLayout()
        self.setFixedHeight(rows + 2 * self.frameWidth() + 2)

    def show_offers(self, offers: list[Offer], chosen: SavedLoop | None) -> None:
        """Show offers and mark the one in view, without telling of a choice."""
        blocked = self.blockSignals(True)  # noqa: FBT003 - Qt's own setter
        if offers != self._offers:
            self._fill(offers)
        rows = (row for row, offer in enumerate(offers) if offer.loop is chosen)
        self.setCurrentRow(next(rows, -1))
        self.blockSignals(blocked)

    def _fill(self, offers: list[Offer]) -> None:
        self.clear()
        self._offers = list(offers)
        self._painter.forget_others(offers)
        for offer in offers:
            item = QListWidgetItem()
            item.setData(Qt.ItemDataRole.UserRole, offer)
            words = ", ".join((offer.title, *offer.lines))
            item.setData(Qt.ItemDataRole.AccessibleTextRole, words)
            item.setToolTip(tip(words))
            self.addItem(item)
        self._fit_height()

    def offer(self) -> Offer | None:
        """Give the offer in focus."""
        item = self.currentItem()
        value = item.data(Qt.ItemDataRole.UserRole) if item else None
        return value if isinstance(value, Offer) else None
