"""Tools that borrow the pointer: painting along the trail, and drawing a line point by point.

Gets a map view; turns drags and clicks into parts of stretches or a line in local metres. Promises:
Escape always gives the pointer back; nothing changes until the tool is done.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

import numpy as np
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QPainter, QPen, QPolygonF

from loopwright.geo.polyline import length_m, project
from loopwright.model.arrays import Floats
from loopwright.model.ground import Terrain
from loopwright.model.ids import StretchId

if TYPE_CHECKING:
    from loopwright.app.map_view import MapView

REACH_PX = 14.0
CLICK_PX = 6.0
SNAP_M = 8.0
"""A painted part that ends this near to a stretch's end is painted to the end."""


class Tool(Protocol):
    """What the map asks of a tool. Places are pixels."""

    def press(self, place: QPointF) -> None:
        """Begin."""

    def move(self, place: QPointF) -> bool:
        """Go on; True if the tool used the move."""

    def release(self, place: QPointF) -> None:
        """End."""

    def key(self, key: Qt.Key) -> bool:
        """Take a key; True if the tool used it."""

    def paint(self, painter: QPainter) -> None:
        """Show what has been done so far, in pixels."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A part of a stretch, metres along it as stored."""

    stretch: StretchId
    from_m: float
    to_m: float


class PaintTool:
    """Drag along a trail to paint that part, click to paint the whole stretch."""

    def __init__(self, view: MapView, painted: Callable[[Sequence[Part]], None],
                 ended: Callable[[], None]) -> None:  # fmt: skip
        self._view, self._painted, self._ended = view, painted, ended
        self._trace: list[QPointF] = []

    def press(self, place: QPointF) -> None:
        """Begin a stroke."""
        self._trace = [place]

    def move(self, place: QPointF) -> bool:
        """Lengthen the stroke."""
        if self._trace:
            self._trace.append(place)
        return bool(self._trace)

    def release(self, place: QPointF) -> None:
        """Paint what the stroke ran along."""
        trace, self._trace = [*self._trace, place], []
        terrain = self._view.desk.terrain
        if terrain is None:
            return
        points = np.array([self._view.to_ground(p) for p in trace])
        reach_m = REACH_PX * self._view.metres_a_pixel
        far = max(abs(p.x() - trace[0].x()) + abs(p.y() - trace[0].y()) for p in trace)
        hits = [self._view.hits.nearest(x, y, within_m=reach_m) for x, y in points.tolist()]
        parts = touched(terrain, points, hits, whole=far < CLICK_PX)
        if parts:
            self._painted(parts)

    def key(self, key: Qt.Key) -> bool:
        """Escape gives the pointer back."""
        if key == Qt.Key.Key_Escape:
            self._ended()
            return True
        return False

    def paint(self, painter: QPainter) -> None:
        """Show the stroke."""
        painter.setPen(QPen(self._view.look.colour("accent", 120), 10.0))
        painter.drawPolyline(QPolygonF(self._trace))


def touched(
    terrain: Terrain, points: Floats, hits: Sequence[StretchId | None], *, whole: bool
) -> tuple[Part, ...]:
    """Parts of stretches that ``points`` ``(n, 2)`` ran along; ``whole`` takes all of each."""
    lines = {s.id: s.xy for s in terrain.network.stretches}
    parts = []
    for name in dict.fromkeys(hit for hit in hits if hit is not None):
        rows = [i for i, hit in enumerate(hits) if hit == name]
        total = length_m(lines[name])
        run, _off = project(lines[name], points[rows])
        low, high = (0.0, total) if whole else (float(run.min()), float(run.max()))
        low = 0.0 if low < SNAP_M else low
        high = total if high > total - SNAP_M else high
        if whole or high - low > SNAP_M:
            parts.append(Part(stretch=name, from_m=low, to_m=high))
    return tuple(parts)


class LineTool:
    """Click points; Enter or a second click on the last point ends the line."""

    def __init__(self, view: MapView, drawn: Callable[[Floats], None],
                 ended: Callable[[], None]) -> None:  # fmt: skip
        self._view, self._drawn, self._ended = view, drawn, ended
        self._points: list[tuple[float, float]] = []

    def press(self, place: QPointF) -> None:
        """Add a point, or end on the last one."""
        here = self._view.to_ground(place)
        near = CLICK_PX * self._view.metres_a_pixel
        if self._points and np.hypot(*np.subtract(here, self._points[-1])) < near:
            self.key(Qt.Key.Key_Return)
        else:
            self._points.append(here)

    def move(self, _place: QPointF) -> bool:
        """Leave moving to the map."""
        return False

    def release(self, _place: QPointF) -> None:
        """Do nothing: points are set on pressing."""

    def key(self, key: Qt.Key) -> bool:
        """Enter ends, Backspace takes a point back, Escape gives up."""
        if key in {Qt.Key.Key_Return, Qt.Key.Key_Enter}:
            if len(self._points) > 1:
                self._drawn(np.array(self._points))
            self._ended()
        elif key == Qt.Key.Key_Backspace and self._points:
            self._points.pop()
        elif key == Qt.Key.Key_Escape:
            self._ended()
        else:
            return False
        return True

    def paint(self, painter: QPainter) -> None:
        """Show the points so far."""
        pixels = [self._view.to_px(x, y) for x, y in self._points]
        painter.setPen(QPen(self._view.look.colour("accent"), 2.5, Qt.PenStyle.DashLine))
        painter.drawPolyline(QPolygonF(pixels))
        painter.setBrush(self._view.look.colour("paper"))
        for spot in pixels:
            painter.drawEllipse(spot, 4.0, 4.0)
