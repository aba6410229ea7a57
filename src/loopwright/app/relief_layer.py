"""Hill shading from a local height file, painted off the window's thread.

Gets a terrain and the area's height file; gives an image under the trails. Promises: nothing is
fetched; a file that is missing or covers other ground shows nothing and is told once.

Shading: slope and aspect by Horn's third-order differences (Horn 1981, Hill shading and the
reflectance map, Proc. IEEE 69(1), from memory), light from the north-west at 45 degrees, as maps
commonly have it (common practice, no source).
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from PySide6.QtCore import QRectF
from PySide6.QtGui import QImage, QPainter

from loopwright.app.map_scene import ground_bounds
from loopwright.app.rides_layer import Layer
from loopwright.jobs import Report
from loopwright.model.arrays import Floats
from loopwright.model.frame import Origin

if TYPE_CHECKING:
    from loopwright.app.map_view import MapView

CELLS = 500
"""Cells along the longer side of the area."""
AROUND_SHARE = 0.35
SUN_AZIMUTH, SUN_HEIGHT = np.radians(315.0), np.radians(45.0)
STRENGTH = 110
"""Most opaque a shadow gets, of 255: the trails stay the picture."""
LIGHT = 60
"""Most opaque a lit slope gets."""


class ReliefLayer:
    """Keeps the shading of one map."""

    def __init__(self, view: MapView) -> None:
        self._view = view
        self._layer: Layer | None = None
        self._made_for: tuple[object, str] = (None, "")
        view.desk.terrain_changed.connect(self.ask)

    def ask(self) -> None:
        """Shade anew if the ground or the file is another."""
        desk = self._view.desk
        terrain, name = desk.terrain, desk.document.settings.height_file
        network = terrain.network if terrain else None
        if (network, name) == self._made_for or (network is self._made_for[0] and not name):
            return
        self._made_for, self._layer = (network, name), None
        if terrain is None or not name:
            return
        box = ground_bounds(terrain)
        wide = max(box.width(), box.height()) * AROUND_SHARE
        box = box.adjusted(-wide, -wide, wide, wide)
        origin = terrain.network.origin
        desk.jobs.start(
            "relief",
            lambda report: shaded(Path(name), origin, box, report),
            on_done=self._shaded,
            on_failed=desk.failed,
        )

    def _shaded(self, layer: Layer) -> None:
        self._layer = layer
        self._view.viewport().update()

    def paint(self, painter: QPainter) -> None:
        """Paint the shading, in scene metres."""
        if self._layer is not None:
            painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
            painter.drawImage(self._layer.box, self._layer.image)


def shaded(path: Path, origin: Origin, box: QRectF, report: Report) -> Layer:
    """Read heights over ``box`` (scene metres) and shade them."""
    from loopwright.geo.frame import to_degrees
    from loopwright.io.heights import open_heights

    report.step(0.0, path.name)
    grid = open_heights(path)
    step = max(box.width(), box.height()) / CELLS
    east = np.arange(box.left(), box.right(), step) + step / 2
    south = np.arange(box.top(), box.bottom(), step) + step / 2
    xx, yy = np.meshgrid(east, -south)
    report.check()
    lat, lon = to_degrees(origin, np.column_stack((xx.ravel(), yy.ravel())))
    heights = grid.at(lat, lon).reshape(xx.shape)
    report.check()
    return Layer(image=shadow_image(hillshade(heights, step)), box=box)


def hillshade(heights: Floats, step_m: float) -> Floats:
    """Brightness 0..1 of a height grid ``(rows, columns)``, rows from north to south.

    Level ground gets sin(45 degrees); NaN where a height or a neighbour is unknown. A grid of
    fewer than 3 rows or columns gives NaN everywhere.
    """
    bright = np.full(heights.shape, np.nan)
    if min(heights.shape) < 3:
        return bright
    a, b, c = heights[:-2, :-2], heights[:-2, 1:-1], heights[:-2, 2:]
    d, f = heights[1:-1, :-2], heights[1:-1, 2:]
    g, h, i = heights[2:, :-2], heights[2:, 1:-1], heights[2:, 2:]
    to_east = ((c + 2 * f + i) - (a + 2 * d + g)) / (8 * step_m)
    to_north = ((a + 2 * b + c) - (g + 2 * h + i)) / (8 * step_m)
    sun_east = np.sin(SUN_AZIMUTH) * np.cos(SUN_HEIGHT)
    sun_north = np.cos(SUN_AZIMUTH) * np.cos(SUN_HEIGHT)
    towards = -to_east * sun_east - to_north * sun_north + np.sin(SUN_HEIGHT)
    bright[1:-1, 1:-1] = np.clip(towards / np.sqrt(1 + to_east**2 + to_north**2), 0.0, 1.0)
    return bright


def shadow_image(bright: Floats) -> QImage:
    """Give shadows as transparent black and lit slopes as transparent white; level ground clear.

    On light paper the shadows show, on dark paper the light.
    """
    level = np.sin(SUN_HEIGHT)
    known = np.nan_to_num(bright, nan=level)
    dark = np.clip((level - known) / level, 0.0, 1.0)
    light = np.clip((known - level) / (1.0 - level), 0.0, 1.0)
    pixels = np.zeros((*bright.shape, 4), dtype=np.uint8)
    pixels[..., :3] = np.where(light > 0, 255, 0)[..., None]
    pixels[..., 3] = np.round(np.maximum(dark * STRENGTH, light * LIGHT))
    rows, columns = bright.shape
    image = QImage(pixels.tobytes(), columns, rows, 4 * columns, QImage.Format.Format_RGBA8888)
    return image.copy()
