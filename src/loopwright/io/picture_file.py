"""A GeoTIFF picture as tiles, by the optional library rasterio.

Gets a path; gives a TileSource. Promises: each tile reads only its own part of the file; grey,
palette, colour and colour with opacity of 8 bits are understood, anything else is refused.
"""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np

from loopwright.errors import WorldError
from loopwright.geo.tiles import EQUATOR_M, MOST_ZOOM, TILE_PX
from loopwright.io import geotiff
from loopwright.model.background import Pixels

_PICK = "give a GeoTIFF of 8 bits a colour that says where it lies"
GREY, COLOUR, COLOUR_AND_OPACITY = 1, 3, 4


def open_picture(path: Path) -> PictureFile:
    """Open a GeoTIFF; raises WorldError."""
    return PictureFile(path, geotiff.rasterio_for(path, part="vrt", instead="an MBTiles file"))


class PictureFile:
    """One GeoTIFF."""

    credit = ""
    least_zoom = 0

    def __init__(self, path: Path, library: Any) -> None:
        """Check that the picture can be shown; raises WorldError."""
        self._path, self._library = path, library
        with self._open() as source:
            self._check(source)
            self._table = _palette(source)
            with self._turned(source) as seen:
                cell_m, self._reach = abs(seen.transform.a), seen.bounds
        if not 0 < cell_m < EQUATOR_M:
            raise self._nowhere()
        fine = math.log2(EQUATOR_M / TILE_PX / cell_m)
        self.most_zoom = min(MOST_ZOOM, max(0, math.ceil(fine)))

    def _open(self) -> Any:
        return geotiff.opened(self._library, self._path, pick=_PICK)

    def _turned(self, source: Any, **frame: Any) -> Any:
        library = self._library
        how = library.enums.Resampling
        try:
            return library.vrt.WarpedVRT(
                source, crs="EPSG:3857", add_alpha=source.count != COLOUR_AND_OPACITY,
                resampling=how.bilinear if self._table is None else how.nearest, **frame,
            )  # fmt: skip
        except geotiff.faults(library) as error:
            raise self._nowhere() from error

    def _nowhere(self) -> WorldError:
        return WorldError(str(self._path), "lies where no map tile does", _PICK)

    def _check(self, source: Any) -> None:
        geotiff.check_place(source, self._path, pick=_PICK)
        if source.count not in {GREY, COLOUR, COLOUR_AND_OPACITY} or set(source.dtypes) != {
            "uint8"
        }:
            words = f"holds {source.count} bands of {source.dtypes[0]}, which are no colours"
            raise WorldError(str(self._path), words, _PICK)

    def tile(self, zoom: int, column: int, row: int) -> Pixels | None:
        """Return a tile's pixels, None where the picture does not reach."""
        side = EQUATOR_M / 2**zoom
        west, north = column * side - EQUATOR_M / 2, EQUATOR_M / 2 - row * side
        reach = self._reach
        if west >= reach.right or west + side <= reach.left:
            return None
        if north <= reach.bottom or north - side >= reach.top:
            return None
        cell = side / TILE_PX
        corner = self._library.Affine(cell, 0.0, west, 0.0, -cell, north)
        with (
            self._open() as source,
            self._turned(source, transform=corner, width=TILE_PX, height=TILE_PX) as seen,
        ):
            return self._coloured(self._read(seen))

    def _read(self, seen: Any) -> Pixels:
        try:
            found = seen.read()
        except geotiff.faults(self._library) as error:
            raise geotiff.damaged(self._path, pick=_PICK) from error
        return np.asarray(found, dtype=np.uint8)

    def _coloured(self, bands: Pixels) -> Pixels:
        """Turn bands ``(k, 256, 256)`` with opacity last into pixels ``(256, 256, 4)``."""
        opacity = bands[-1]
        if self._table is not None:
            colours: Pixels = self._table[bands[0]]
            colours[..., 3] = np.minimum(colours[..., 3], opacity)
            return colours
        shown = bands[:3] if len(bands) > COLOUR else np.repeat(bands[:1], 3, axis=0)
        return np.ascontiguousarray(np.moveaxis(np.concatenate((shown, opacity[None])), 0, -1))


def _palette(source: Any) -> Pixels | None:
    if source.count != GREY:
        return None
    try:
        entries = source.colormap(1)
    except ValueError:
        return None
    table = np.zeros((256, 4), dtype=np.uint8)
    for number, colour in entries.items():
        if 0 <= number < len(table):
            table[number] = colour
    return table
