"""One picture put together from tiles, for a part of the map.

Gets encoded or plain tiles and a box in scene metres; gives an image. Promises: works on any
thread; a tile that is missing is filled from a coarser one if there is one; a tile that is no
picture counts as missing.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
from PySide6.QtCore import QByteArray, QPointF, QRectF, Qt
from PySide6.QtGui import QImage, QImageReader, QPainter, QPolygonF, QTransform

from loopwright.app.rides_layer import Layer
from loopwright.geo.tiles import TILE_PX, TileName, tile_degrees, tiles_over, zoom_for
from loopwright.jobs import Report
from loopwright.model.arrays import Floats
from loopwright.model.background import Pixels
from loopwright.model.frame import Origin

MOST_TILES = 160
"""A view never needs more: beyond it, coarser tiles serve."""
MOST_SIDE_PX = 4096
MOST_TILE_PX = 2048
KINDS: tuple[tuple[bytes, str], ...] = (
    (b"\x89PNG\r\n\x1a\n", "PNG"), (b"\xff\xd8\xff", "JPG"), (b"RIFF", "WEBP"),
)  # fmt: skip
"""How the pictures a tile may be begin. The kind is named to Qt, which otherwise tries all it
knows: one of them connects signals, and doing so on a job's thread, with the interpreter held,
can meet the window's thread half-way and stand still for ever."""
QImageReader.setAllocationLimit(32)
"""MB a picture file may unpack to; the largest tile allowed takes 16."""
OVERLAP_PX = 0.4
"""Tiles reach a little over their edges, else hairlines show between them."""

Find = Callable[[TileName], "bytes | Pixels | None"]


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """What part of the world a picture shows: ``box`` in scene metres, at pixels a metre.

    Tiles are of a zoom from ``least_zoom`` to ``most_zoom``, unless that needs too many.
    """

    origin: Origin
    box: QRectF
    scale: float
    most_zoom: int
    least_zoom: int = 0

    def tiles(self) -> tuple[TileName, ...]:
        """Tiles that cover the box, the middle ones first."""
        lat, lon = self._edge()
        near = zoom_for(1.0 / self.scale, self.origin.lat)
        zoom = min(self.most_zoom, max(self.least_zoom, near))
        found = tiles_over(lat, lon, zoom)
        while len(found) > MOST_TILES and zoom > 0:
            zoom -= 1
            found = tiles_over(lat, lon, zoom)
        middle = (
            sum(t.column for t in found) / len(found), sum(t.row for t in found) / len(found)
        ) if found else (0.0, 0.0)  # fmt: skip
        return tuple(sorted(found, key=lambda t: (abs(t.column - middle[0])
                                                  + abs(t.row - middle[1]), t)))  # fmt: skip

    def _edge(self) -> tuple[Floats, Floats]:
        from loopwright.geo.frame import to_degrees

        box = self.box
        east = np.linspace(box.left(), box.right(), 5)
        south = np.linspace(box.top(), box.bottom(), 5)
        xx, yy = np.meshgrid(east, -south)
        lat, lon = to_degrees(self.origin, np.column_stack((xx.ravel(), yy.ravel())))
        near = (lon - self.origin.lon + 180.0) % 360.0 - 180.0 + self.origin.lon
        whole = np.isfinite(lat) & np.isfinite(near)
        return lat[whole], near[whole]

    def corners(self, tiles: tuple[TileName, ...]) -> Floats:
        """Pixels ``(n, 4, 2)`` of the tiles' corners: north-west, then clockwise."""
        from loopwright.geo.frame import to_local

        column = np.array([[t.column, t.column + 1, t.column + 1, t.column] for t in tiles])
        row = np.array([[t.row, t.row, t.row + 1, t.row + 1] for t in tiles])
        lat, lon = tile_degrees(column.ravel(), row.ravel(), tiles[0].zoom)
        xy = to_local(self.origin, lat, lon)
        pixels = np.column_stack((xy[:, 0] - self.box.left(), -xy[:, 1] - self.box.top()))
        return np.asarray(pixels * self.scale).reshape(-1, 4, 2)


def painted(sheet: Sheet, find: Find, report: Report) -> Layer:
    """Paint the tiles of a sheet. ``find`` gives a tile's file or pixels, None where missing."""
    box, scale = sheet.box, sheet.scale
    scale = min(scale, MOST_SIDE_PX / max(box.width(), box.height()))
    sheet = replace(sheet, scale=scale)
    image = QImage(
        max(1, round(box.width() * scale)), max(1, round(box.height() * scale)),
        QImage.Format.Format_ARGB32_Premultiplied,
    )  # fmt: skip
    image.fill(Qt.GlobalColor.transparent)
    tiles = sheet.tiles()
    look_up = cache(lambda tile: decoded(find(tile)))
    if tiles:
        painter = QPainter(image)
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        try:
            for tile, corners in zip(tiles, sheet.corners(tiles), strict=True):
                report.check()
                _paint_tile(painter, corners, *_picture(tile, look_up))
        finally:
            painter.end()
    return Layer(image=image, box=box)


def _picture(
    tile: TileName, look_up: Callable[[TileName], QImage | None]
) -> tuple[QImage | None, QRectF]:
    """Give the picture of a tile and the part of it to show, in pixels of that picture."""
    for levels in range(tile.zoom + 1):
        image = look_up(tile.parent(levels).around())
        if image is not None:
            parts = 2**levels
            wide, high = image.width() / parts, image.height() / parts
            left, top = (tile.column % parts) * wide, (tile.row % parts) * high
            return image, QRectF(left, top, wide, high)
    return None, QRectF()


def decoded(tile: bytes | Pixels | None) -> QImage | None:
    """Turn a tile into an image, None if it is none."""
    if tile is None:
        return None
    if isinstance(tile, bytes):
        return _unpacked(tile)
    rows, columns, _four = tile.shape
    pixels = QImage(tile.tobytes(), columns, rows, 4 * columns, QImage.Format.Format_RGBA8888)
    return pixels.copy()


def _unpacked(tile: bytes) -> QImage | None:
    """Read a picture file of a kind it says it is, and no other kind."""
    kind = next((kind for start, kind in KINDS if tile.startswith(start)), None)
    if kind is None:
        return None
    image = QImage.fromData(QByteArray(tile), kind)  # type: ignore[arg-type]  # takes str, not bytes
    return None if image.isNull() or max(image.width(), image.height()) > MOST_TILE_PX else image


def _paint_tile(painter: QPainter, corners: Floats, image: QImage | None, part: QRectF) -> None:
    if image is None:
        return
    low, high = -OVERLAP_PX, TILE_PX + OVERLAP_PX
    square = QPolygonF([QPointF(0, 0), QPointF(TILE_PX, 0), QPointF(TILE_PX, TILE_PX),
                        QPointF(0, TILE_PX)])  # fmt: skip
    place = QPolygonF([QPointF(x, y) for x, y in corners.tolist()])
    turn = QTransform()
    if not QTransform.quadToQuad(square, place, turn):
        return
    painter.setTransform(turn)
    painter.drawImage(QRectF(low, low, high - low, high - low), image, part)
