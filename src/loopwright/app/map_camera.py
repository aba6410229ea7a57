"""Where the map looks: scale, place, and the way between pixels and metres.

Gets a scene in metres; gives zooming about a place, fitting and moving. Promises: the scale stays
within limits; the level of detail follows the scale.
"""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, Signal
from PySide6.QtWidgets import QGraphicsView, QWidget

from loopwright.app.look import Look
from loopwright.app.map_scene import MapScene
from loopwright.app.turns import Turns

CLOSEST_PX_A_METRE = 20.0
FURTHEST_PX_A_METRE = 0.002
FIT_MARGIN_PX = 48
SMALL_SHARE, AROUND_SHARE = 0.4, 0.5
"""A loop under this share of the ground's size is come closer to, with this share around it."""


class MapCamera(QGraphicsView):
    """A view that can look anywhere on the map."""

    looked = Signal()
    """The view moved or zoomed."""

    def __init__(self, look: Look, turns: Turns, parent: QWidget | None = None) -> None:
        self.ground = MapScene(look, turns)
        super().__init__(self.ground, parent)
        self.fitted = False
        self.covered_px = 0
        """Height at the top that a panel covers: what is fitted stays below it."""
        self.fits: QRectF | None = None
        """What is shown whole, until a person looks elsewhere."""

    @property
    def metres_a_pixel(self) -> float:
        """Scale of the view."""
        return 1.0 / max(self.transform().m11(), 1e-9)

    def to_px(self, x: float, y: float) -> QPointF:
        """Pixels of a place in local metres, with fractions."""
        return self.viewportTransform().map(QPointF(x, -y))

    def to_ground(self, place: QPointF) -> tuple[float, float]:
        """Local metres of a place in pixels."""
        inverse, _ok = self.viewportTransform().inverted()
        spot = inverse.map(place)
        return spot.x(), -spot.y()

    def fit_box(self, box: QRectF) -> None:
        """Show a rectangle of scene metres, if there is room for it."""
        if box.isEmpty() or self.viewport().width() < 2 * FIT_MARGIN_PX:
            return
        self.fitted = True
        wide = self.viewport().width() - 2 * FIT_MARGIN_PX
        top = max(FIT_MARGIN_PX, self.covered_px)
        high = max(40, self.viewport().height() - top - FIT_MARGIN_PX)
        scale = min(wide / max(box.width(), 1.0), high / max(box.height(), 1.0))
        self._look_at(box.center() - QPointF(0.0, (top - FIT_MARGIN_PX) / 2 / scale), scale)
        self.fits = QRectF(box)

    def come_closer(self, loop: QRectF) -> None:
        """Show a loop with what lies around it, where all the ground makes it small."""
        whole, wide = self.ground.bounds(), max(loop.width(), loop.height())
        if self.fits == whole and wide < SMALL_SHARE * max(whole.width(), whole.height()):
            room = AROUND_SHARE * wide
            self.fit_box(loop.adjusted(-room, -room, room, room).intersected(whole))

    def _look_at(self, middle: QPointF, scale: float) -> None:
        scale = min(CLOSEST_PX_A_METRE, max(FURTHEST_PX_A_METRE, scale))
        self.resetTransform()
        self.scale(scale, scale)
        self.centerOn(middle)
        self.ground.show_scale(1.0 / scale)
        self.looked.emit()

    def zoom(self, factor: float, about: QPointF | None = None) -> None:
        """Zoom by a factor about a place in pixels, the middle if None."""
        self.fits = None
        scale = self.transform().m11()
        factor = min(CLOSEST_PX_A_METRE, max(FURTHEST_PX_A_METRE, scale * factor)) / scale
        about = about or QPointF(self.viewport().rect().center())
        inverse, _ok = self.viewportTransform().inverted()
        spot = inverse.map(about)
        self.scale(factor, factor)
        moved = self.viewportTransform().map(spot) - about
        self.move_by(moved)
        self.ground.show_scale(self.metres_a_pixel)
        self.looked.emit()

    def move_by(self, pixels: QPointF) -> None:
        """Move the view by pixels."""
        self.fits = None
        for bar, step in (
            (self.horizontalScrollBar(), pixels.x()),
            (self.verticalScrollBar(), pixels.y()),
        ):
            bar.setValue(bar.value() + round(step))
