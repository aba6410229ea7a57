"""Where the map looks: scale, place, and the way between pixels and metres.

Gets a scene in metres; gives zooming about a place, fitting and moving. Promises: the scale stays
within limits; the level of detail follows the scale.
"""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, Signal
from PySide6.QtWidgets import QGraphicsView, QWidget

from loopwright.app.look import Look
from loopwright.app.map_scene import MapScene

CLOSEST_PX_A_METRE = 20.0
FURTHEST_PX_A_METRE = 0.002
FIT_MARGIN_PX = 48


class MapCamera(QGraphicsView):
    """A view that can look anywhere on the map."""

    looked = Signal()
    """The view moved or zoomed."""

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        self.ground = MapScene(look)
        super().__init__(self.ground, parent)
        self.fitted = False

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
        high = max(40, self.viewport().height() - 2 * FIT_MARGIN_PX)
        scale = min(wide / max(box.width(), 1.0), high / max(box.height(), 1.0))
        self._look_at(box.center(), scale)

    def _look_at(self, middle: QPointF, scale: float) -> None:
        scale = min(CLOSEST_PX_A_METRE, max(FURTHEST_PX_A_METRE, scale))
        self.resetTransform()
        self.scale(scale, scale)
        self.centerOn(middle)
        self.ground.show_scale(1.0 / scale)
        self.looked.emit()

    def zoom(self, factor: float, about: QPointF | None = None) -> None:
        """Zoom by a factor about a place in pixels, the middle if None."""
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
        for bar, step in (
            (self.horizontalScrollBar(), pixels.x()),
            (self.verticalScrollBar(), pixels.y()),
        ):
            bar.setValue(bar.value() + round(step))
