"""What is painted over the map's lines: loop signs, scale, north, key, and words.

Gets a map view; paints in pixels. Promises: nothing here changes anything.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from PySide6.QtCore import QPointF, QRect, QRectF, QSize, QSizeF, Qt
from PySide6.QtGui import QColor, QImage, QPainter, QPen, QPolygonF

from loopwright.app import map_marks
from loopwright.app.lines import polygon
from loopwright.app.look import SMALL_PT
from loopwright.app.map_colours import Pen, Question
from loopwright.app.map_hits import lap_point
from loopwright.app.map_key import paint_key
from loopwright.app.map_levels import thinned
from loopwright.app.stretch_words import stretch_words
from loopwright.model.course import Course
from loopwright.model.ground import FeatureKind
from loopwright.model.ids import Ways
from loopwright.model.network import Stretch

if TYPE_CHECKING:
    from loopwright.app.map_view import MapView


MOST_WAYS = 100
"""Of more chosen stretches than these no drawn direction is shown: nobody could read them."""
FAR_M = 1e6
"""Beyond this the local frame means nothing."""


class MapFront:
    """Paints over one map."""

    def __init__(self, view: MapView) -> None:
        self.view = view
        self._key: tuple[object, QImage, QPointF] | None = None

    def get_ready(self) -> None:
        """Paint the figures of signs in turns to come, before the first loop is there."""
        steps = map_marks.ready_figures(self.view.look, self.view.devicePixelRatioF())
        turns, key = self.view.desk.turns, map_marks.ready_figures
        turns.soon(lambda: turns.go_through(steps, key=key), key=key)

    def paint(self, painter: QPainter) -> None:
        """Paint everything that keeps its size."""
        self._paint_ways(painter)
        if self.view.desk.asked.xy is None:
            self._paint_loop(painter)
        else:
            map_marks.paint_asked(
                painter, self.view.desk.asked.xy, to_px=self.view.to_px, look=self.view.look
            )
        self._paint_frame(painter)

    def _paint_ways(self, painter: QPainter) -> None:
        """Show the drawn direction of chosen and one-way stretches."""
        view = self.view
        terrain = view.desk.terrain
        if terrain is None:
            return
        chosen = set(view.desk.selection) if len(view.desk.selection) <= MOST_WAYS else set()
        for stretch in terrain.network.stretches:
            one_way = stretch.ways in {Ways.FORWARD, Ways.BACKWARD}
            if one_way or stretch.id in chosen:
                self._paint_way(painter, stretch)

    def _paint_way(self, painter: QPainter, stretch: Stretch) -> None:
        xy = stretch.xy[::-1] if stretch.ways is Ways.BACKWARD else stretch.xy
        map_marks.paint_way(painter, xy, to_px=self.view.to_px, look=self.view.look)

    def _paint_loop(self, painter: QPainter) -> None:
        view = self.view
        course, look = view.desk.course, view.look
        if course is None:
            return
        if view.desk.place == "laps":
            self._paint_parts(painter, course)
        map_marks.paint_arrows(
            painter, course, to_px=view.to_px, look=look, metres_a_pixel=view.metres_a_pixel
        )
        map_marks.paint_gate(painter, course, to_px=view.to_px, look=look)
        if self.signs:
            map_marks.paint_signs(painter, course, to_px=view.to_px, look=look)
        if view.pointed is not None:
            spot = view.to_px(*lap_point(course, view.pointed))
            map_marks.paint_mark(painter, spot, look=look)

    def _paint_parts(self, painter: QPainter, course: Course) -> None:
        """Paint where time was lost and won; unsure parts stay bare."""
        view = self.view
        parts = [part for part in view.desk.ridden.stretched if part.sure]
        lines = [course.xy[(course.dist_m >= part.from_m) & (course.dist_m <= part.to_m)]
                 for part in parts]  # fmt: skip
        for part, line in zip(parts, thinned(lines, view.ground.level), strict=True):
            points = view.viewportTransform().map(polygon(line * (1.0, -1.0)))
            slower = part.seconds > 0
            map_marks.paint_part(painter, points, slower=slower, look=view.look)

    def _paint_frame(self, painter: QPainter) -> None:
        view, look = self.view, self.view.look
        size = view.viewport().rect()
        if view.desk.terrain is None:
            return
        map_marks.paint_scale(
            painter,
            QPointF(16, size.height() - 16),
            metres_a_pixel=view.metres_a_pixel,
            look=look,
        )
        map_marks.paint_north(painter, QPointF(28, 38), look=look)
        self._paint_words(painter)
        low = size.height() - 12 - self._paint_credit(painter)
        if view.show_key:
            image, at = self._key_image(QPointF(size.width() - 12, low))
            painter.drawImage(at, image)

    def _key_image(self, corner: QPointF) -> tuple[QImage, QPointF]:
        """Give the key as a picture and its place; painted anew only when it says another thing."""
        pens, kinds, look = self.pens(), self.kinds(), self.view.look
        ratio = self.view.devicePixelRatioF()
        says = (pens, kinds, look, corner, ratio)
        if self._key is None or self._key[0] != says:
            whole = QImage(QSizeF(corner.x(), corner.y()).toSize() * ratio + QSize(1, 1),
                           QImage.Format.Format_ARGB32_Premultiplied)  # fmt: skip
            whole.setDevicePixelRatio(ratio)
            whole.fill(Qt.GlobalColor.transparent)
            painter = QPainter(whole)
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            box = paint_key(painter, corner, pens=pens, kinds=kinds, look=look).toAlignedRect()
            painter.end()
            box = box.adjusted(-1, -1, 1, 1)
            part = QRect(box.topLeft() * ratio, box.size() * ratio)
            self._key = says, whole.copy(part), QPointF(box.topLeft())
        return self._key[1], self._key[2]

    def _paint_credit(self, painter: QPainter) -> int:
        """Name whom the map must name, in the lower right; gives the height it took."""
        view, look = self.view, self.view.look
        owed = (*view.desk.document.settings.attributions, view.background.credit)
        credit = " · ".join(dict.fromkeys(filter(None, owed)))
        if not credit:
            return 0
        painter.setFont(look.font(SMALL_PT))
        high, pad = look.px(20), look.px(6)
        most = view.viewport().width() // 2
        words = painter.fontMetrics().elidedText(credit, Qt.TextElideMode.ElideRight, most)
        wide = painter.fontMetrics().horizontalAdvance(words) + 2 * pad
        size = view.viewport().rect()
        box = QRectF(size.width() - wide, size.height() - high, wide, high)
        painter.fillRect(box, look.colour("paper", 215))
        painter.setPen(QColor(look.theme.ink))
        painter.drawText(box, int(Qt.AlignmentFlag.AlignCenter), words)
        return high

    @property
    def signs(self) -> bool:
        """Tell whether feature signs show: colours that answer another question stand alone."""
        view = self.view
        return view.show_features and view.ground.question in {Question.PLAIN, Question.CORNERS}

    def pens(self) -> tuple[Pen, ...]:
        """Pens for the key: the map's own, the loop, and where time went."""
        view, theme = self.view, self.view.look.theme
        pens = list(view.ground.pens)
        if view.desk.asked.xy is not None:
            pens.append(Pen(colour=theme.accent, words="this part", width=6.0))
        elif view.desk.course is not None:
            plain = view.ground.question is Question.PLAIN
            colour, width = (theme.accent, 4.5) if plain else (theme.accent_soft, 11.0)
            pens.append(Pen(colour=colour, words="the loop", width=width))
        if view.desk.place == "laps" and view.desk.ridden.stretched:
            pens.append(Pen(colour=map_marks.SLOWER, words="slower than the target", width=7))
            pens.append(Pen(colour=map_marks.FASTER, words="faster", width=3.5))
        return tuple(pens)

    def kinds(self) -> list[FeatureKind]:
        """Kinds of features that show, for the key."""
        course = self.view.desk.course
        if course is None or not self.signs or self.view.desk.asked.xy is not None:
            return []
        have = {f.kind for f in course.features} - {FeatureKind.STEADY}
        return [kind for kind in FeatureKind if kind in have]

    def _paint_words(self, painter: QPainter) -> None:
        look = self.view.look
        words = self.hover_words()
        if words:
            self._paint_tag(painter, words, 150, self.view.viewport().height() - 12 - look.px(22))

    def _paint_tag(self, painter: QPainter, words: str, left: float, top: float) -> None:
        look = self.view.look
        painter.setFont(look.font(SMALL_PT))
        wide = painter.fontMetrics().horizontalAdvance(words) + look.px(16)
        box = QRectF(left, top, wide, look.px(22))
        painter.setPen(QPen(QColor(look.theme.rule), 1.0))
        painter.setBrush(look.colour("paper", 235))
        painter.drawRoundedRect(box, 4, 4)
        painter.setPen(QColor(look.theme.ink))
        painter.drawText(box, int(Qt.AlignmentFlag.AlignCenter), words)

    def paint_circle(self, painter: QPainter, circle: Sequence[QPointF]) -> None:
        """Show the area being circled."""
        if len(circle) > 1:
            look = self.view.look
            painter.setPen(QPen(QColor(look.theme.ink), 1.5, Qt.PenStyle.DashLine))
            painter.setBrush(look.colour("accent", 30))
            painter.drawPolygon(QPolygonF(list(circle)))

    def paint_pull(self, painter: QPainter) -> None:
        """Show how far the loop is pulled, where it would run and what that would be worth."""
        view, pull = self.view, self.view.pull
        if pull is None:
            return
        painter.setPen(QPen(view.look.colour("accent"), 2.0, Qt.PenStyle.DotLine))
        painter.drawLine(QPointF(pull[0]), pull[1])
        if len(view.pull_line):
            line = view.viewportTransform().map(polygon(view.pull_line * (1, -1)))
            painter.setPen(QPen(view.look.colour("ink"), 2.5, Qt.PenStyle.DashLine))
            painter.drawPolyline(line)
        if view.pull_words:
            left = min(pull[1].x() + 16, view.viewport().width() - view.look.px(260))
            self._paint_tag(painter, view.pull_words, left, pull[1].y() + 12)

    def hover_words(self) -> str:
        """Say what is under the pointer: the stretch, else the place in degrees."""
        view = self.view
        terrain = view.desk.terrain
        if terrain is None or view.at is None:
            return ""
        if view.hovered is not None:
            return stretch_words(terrain, view.hovered, view.look.units)
        x, y = view.to_ground(view.at)
        if math.hypot(x, y) > FAR_M:
            return ""
        from loopwright.geo.frame import to_degrees

        lat, lon = to_degrees(terrain.network.origin, np.array([[x, y]]))
        return f"{lat[0]:.5f}, {lon[0]:.5f}"
