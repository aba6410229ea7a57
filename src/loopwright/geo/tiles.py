"""Square map tiles: which ones cover a place, and where they lie.

The matrix is WebMercatorQuad of the OGC Two Dimensional Tile Matrix Set standard (17-083r4, annex
D.1): at zoom z the world is 2^z columns by 2^z rows of tiles, columns from 180 degrees west, rows
from the north; each tile is 256 pixels wide. No state, no files.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from loopwright.model.arrays import Floats

TILE_PX = 256
MOST_ZOOM = 22
EQUATOR_M = 2 * math.pi * 6378137.0
"""Length of the equator on the sphere the matrix is defined on."""
MOST_LAT = 85.0511287798066
"""Where the square world ends to north and south."""


@dataclass(frozen=True, slots=True, order=True)
class TileName:
    """One tile. ``column`` may lie outside the world's range; ``around`` brings it inside."""

    zoom: int
    column: int
    row: int

    def around(self) -> TileName:
        """Return the same tile with its column inside the world."""
        return TileName(self.zoom, self.column % 2**self.zoom, self.row)

    def parent(self, levels: int = 1) -> TileName:
        """Return the tile ``levels`` zooms out that holds this one."""
        return TileName(self.zoom - levels, self.column >> levels, self.row >> levels)


def tile_place(lat: Floats, lon: Floats, zoom: int) -> tuple[Floats, Floats]:
    """Columns and rows with fractions, each ``(n,)``, of degrees ``(n,)``.

    Latitudes beyond the square world are moved to its edge; longitudes are not wrapped.
    """
    held = np.radians(np.clip(lat, -MOST_LAT, MOST_LAT))
    count = 2.0**zoom
    column = (np.asarray(lon) + 180.0) / 360.0 * count
    row = (1.0 - np.arcsinh(np.tan(held)) / math.pi) / 2.0 * count
    return column, row


def tile_degrees(column: Floats, row: Floats, zoom: int) -> tuple[Floats, Floats]:
    """Latitudes and longitudes ``(n,)`` in degrees of columns and rows with fractions ``(n,)``."""
    count = 2.0**zoom
    lon = np.asarray(column) / count * 360.0 - 180.0
    lat = np.degrees(np.arctan(np.sinh(math.pi * (1.0 - 2.0 * np.asarray(row) / count))))
    return lat, lon


def zoom_for(metres_a_pixel: float, lat: float) -> int:
    """Return the zoom whose pixels at ``lat`` degrees are nearest in size, 0 to ``MOST_ZOOM``."""
    whole = EQUATOR_M * math.cos(math.radians(min(abs(lat), MOST_LAT))) / TILE_PX
    zoom = round(math.log2(whole / metres_a_pixel))
    return min(MOST_ZOOM, max(0, zoom))


def tiles_over(lat: Floats, lon: Floats, zoom: int) -> tuple[TileName, ...]:
    """Tiles of a zoom that cover the box around degrees ``(n,)``, row by row.

    Longitudes must not jump at the antimeridian: say 181 rather than -179.
    """
    column, row = tile_place(lat, lon, zoom)
    last = 2**zoom - 1
    rows = range(max(0, math.floor(row.min())), min(last, math.floor(row.max())) + 1)
    columns = range(math.floor(column.min()), math.floor(column.max()) + 1)
    return tuple(TileName(zoom, c, r) for r in rows for c in columns)
