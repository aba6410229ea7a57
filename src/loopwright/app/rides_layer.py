"""Recorded rides as a picture under the trails, painted off the window's thread.

Gets clean tracks and what part of the map is in view; gives an image a third larger than the view,
so that panning only moves it. Promises: painting never holds the window up; an image that no
longer fits the zoom is stretched until the next one comes.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QImage, QPainter, QPen

from loopwright.app.lines import apart, polygon
from loopwright.jobs import Report, watched
from loopwright.model.arrays import Floats
from loopwright.model.track import CleanTrack

if TYPE_CHECKING:
    from loopwright.app.map_view import MapView

ROOM = 1.33
LINE_PX = 1.0
SAME_SCALE = 0.01


@dataclass(frozen=True, kw_only=True, eq=False)
class Layer:
    """An image and the rectangle of scene metres it covers."""

    image: QImage
    box: QRectF

    def covers(self, seen: QRectF, metres_a_pixel: float, *, within: float) -> bool:
        """Tell whether it shows all in view, at the view's scale ``within`` a share of it."""
        scale = self.image.width() / self.box.width()
        return self.box.contains(seen) and abs(scale * metres_a_pixel - 1) < within


def with_room(seen: QRectF) -> QRectF:
    """Give a box a third larger than what is in view, so that panning only moves the image."""
    wide, high = seen.width() * (ROOM - 1) / 2, seen.height() * (ROOM - 1) / 2
    return seen.adjusted(-wide, -high, wide, high)


class RidesLayer:
    """Keeps the newest image for one map."""

    def __init__(self, view: MapView) -> None:
        self._view = view
        self._layer: Layer | None = None
        self._lines: list[Floats] = []
        self.shown = False
        view.looked.connect(self.ask)

    def show_tracks(self, tracks: tuple[CleanTrack, ...]) -> None:
        """Take other rides."""
        self._lines = [piece.xy for track in tracks for piece in track.pieces]
        self._layer = None
        self.ask()

    def show(self, *, shown: bool) -> None:
        """Show or hide the rides."""
        self.shown = shown
        self._view.viewport().update()
        self.ask()

    def ask(self) -> None:
        """Paint anew if what is in view is not covered at this zoom."""
        if not self.shown or not self._lines:
            return
        view = self._view
        seen = view.mapToScene(view.viewport().rect()).boundingRect()
        if self._layer is not None and self._layer.covers(
            seen, view.metres_a_pixel, within=SAME_SCALE
        ):
            return
        box = with_room(seen)
        lines, colour = self._lines, view.look.theme.trail
        scale = 1.0 / view.metres_a_pixel
        view.desk.jobs.start(
            "rides layer",
            lambda report: painted(lines, box, scale, report, colour=colour),
            on_done=self._painted,
        )

    def _painted(self, layer: Layer) -> None:
        self._layer = layer
        self._view.viewport().update()

    def paint(self, painter: QPainter) -> None:
        """Paint the newest image, in scene metres."""
        if self.shown and self._layer is not None:
            painter.drawImage(self._layer.box, self._layer.image)


def painted(
    lines: list[Floats], box: QRectF, scale: float, report: Report, *, colour: str
) -> Layer:
    """Paint lines ``(n, 2)`` in local metres on an image of ``box`` (scene metres)."""
    image = QImage(
        max(1, round(box.width() * scale)), max(1, round(box.height() * scale)),
        QImage.Format.Format_ARGB32_Premultiplied,
    )  # fmt: skip
    image.fill(Qt.GlobalColor.transparent)
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    ink = QColor(colour)
    ink.setAlpha(110)
    painter.setPen(QPen(ink, LINE_PX))
    try:
        for line in watched(lines, report.check):
            pixels = in_pixels(line, box, scale)
            painter.drawPolyline(polygon(pixels))
    finally:
        painter.end()
    return Layer(image=image, box=box)


def in_pixels(line: Floats, box: QRectF, scale: float) -> Floats:
    """Pixels ``(k, 2)`` of a line, points closer than a pixel to the last kept one left out."""
    pixels = np.column_stack((line[:, 0] - box.left(), -line[:, 1] - box.top())) * scale
    return apart(pixels)
