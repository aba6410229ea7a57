"""Heights from a local file: an HGT tile or a GeoTIFF.

Gets a path; gives a HeightGrid that answers for any place in degrees. Promises: bilinear between
grid points; NaN outside the file and where it is void; nothing is fetched. GeoTIFF needs the
optional library rasterio and says so when it is missing.
"""

from __future__ import annotations

import math
import re
from pathlib import Path
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from loopwright.errors import WorldError
from loopwright.io import geotiff
from loopwright.io.files import check_regular, read_bytes, worldly
from loopwright.model.arrays import Floats

HGT_SIDES = (1201, 3601)
"""Points a side: 3 and 1 arc-seconds over one degree, edges shared (USGS SRTM layout)."""
HGT_VOID = -32768
TIFF_LIMIT = 4_000_000_000
CELL_LIMIT = 100_000_000
_NO_WEIGHT = 1e-6
"""A neighbour below this share only counts through rounding; a void there is none."""
_HGT_NAME = re.compile(r"([NS])(\d{2})([EW])(\d{3})", re.IGNORECASE)
TIFF_STARTS = (b"II*\0", b"MM\0*", b"II+\0", b"MM\0+")
_PICK = "give a .hgt tile or a GeoTIFF"


class HeightGrid(Protocol):
    """Answers with the height of places."""

    def at(self, lat: Floats, lon: Floats) -> Floats:
        """Heights ``(n,)`` in metres at degrees ``(n,)``, NaN outside or where void."""


def open_heights(path: Path) -> HeightGrid:
    """Open a height file by its content; raises WorldError saying what is wrong."""
    size = check_regular(path, limit=TIFF_LIMIT)
    with worldly(path), path.open("rb") as source:
        head = source.read(4)
    if head in TIFF_STARTS:
        return _open_tiff(path)
    for side in HGT_SIDES:
        if size == side * side * 2:
            return _open_hgt(path, side)
    raise WorldError(str(path), "is no height file", _PICK)


class ArrayGrid:
    """Heights on a regular grid in memory: ``values`` ``(rows, columns)``, NaN where void.

    ``row`` and ``column`` of a place are linear in its latitude and longitude.
    """

    def __init__(self, values: Floats, *, north: float, west: float, step_deg: float) -> None:
        """Set the grid's north-west point and its spacing in degrees."""
        self._values = values
        self._north, self._west, self._step = north, west, step_deg

    def at(self, lat: Floats, lon: Floats) -> Floats:
        """Heights ``(n,)`` in metres at degrees ``(n,)``, NaN outside or where void."""
        turned = (np.asarray(lon) - self._west + 180.0) % 360.0 - 180.0
        return bilinear(self._values, (self._north - lat) / self._step, turned / self._step)


def bilinear(values: Floats, row: Floats, column: Floats) -> Floats:
    """Interpolate a grid ``(rows, columns)`` at fractional places ``(n,)``; NaN outside.

    A void among the four neighbours counts only where it has weight.
    """
    rows, columns = values.shape
    inside = (row >= 0) & (row <= rows - 1) & (column >= 0) & (column <= columns - 1)
    safe_row = np.where(inside, row, 0.0)
    safe_column = np.where(inside, column, 0.0)
    top = np.minimum(np.floor(safe_row), max(rows - 2, 0)).astype(np.int64)
    left = np.minimum(np.floor(safe_column), max(columns - 2, 0)).astype(np.int64)
    down, right = safe_row - top, safe_column - left
    total = np.zeros(len(safe_row))
    for step_row, step_column in ((0, 0), (0, 1), (1, 0), (1, 1)):
        weight = (down if step_row else 1 - down) * (right if step_column else 1 - right)
        corner = values[
            np.minimum(top + step_row, rows - 1), np.minimum(left + step_column, columns - 1)
        ]
        total += np.where(weight > _NO_WEIGHT, weight * corner, 0.0)
    return np.where(inside, total, np.nan)


def _open_hgt(path: Path, side: int) -> ArrayGrid:
    name = _HGT_NAME.search(path.name)
    if name is None:
        raise WorldError(
            str(path), "is an HGT tile whose name does not say where it lies",
            "name it after its south-west corner, like N46E013.hgt",
        )  # fmt: skip
    data = read_bytes(path, limit=2 * max(HGT_SIDES) ** 2)
    cells = np.frombuffer(data, dtype=">i2").reshape(side, side).astype(np.float64)
    south = int(name[2]) * (1 if name[1].upper() == "N" else -1)
    west = int(name[4]) * (1 if name[3].upper() == "E" else -1)
    values = np.where(cells == HGT_VOID, np.nan, cells)
    return ArrayGrid(values, north=south + 1.0, west=float(west), step_deg=1.0 / (side - 1))


def _open_tiff(path: Path) -> HeightGrid:
    return _TiffGrid(path, geotiff.rasterio_for(path, part="warp", instead="a .hgt tile"))


class _TiffGrid:
    """A GeoTIFF read around the places asked for; pixel values stand at pixel centres."""

    def __init__(self, path: Path, library: Any) -> None:
        self._path = path
        self._library = library
        with self._open() as source:
            geotiff.check_place(source, path, pick=_PICK)

    def _open(self) -> Any:
        return geotiff.opened(self._library, self._path, pick=_PICK)

    def at(self, lat: Floats, lon: Floats) -> Floats:
        """Heights ``(n,)`` in metres at degrees ``(n,)``, NaN outside or where void."""
        with self._open() as source:
            x, y = self._places(source, lat, lon)
            column, row = _pixels(~source.transform, np.asarray(x), np.asarray(y))
            return self._read(source, row - 0.5, column - 0.5)

    def _places(self, source: Any, lat: Floats, lon: Floats) -> tuple[list[float], list[float]]:
        """Degrees in the file's own frame."""
        try:
            x, y = self._library.warp.transform("EPSG:4326", source.crs, list(lon), list(lat))
        except geotiff.faults(self._library) as error:
            raise WorldError(
                str(self._path), "lies in a frame that cannot be used", _PICK
            ) from error
        return x, y

    def _read(self, source: Any, row: Floats, column: Floats) -> Floats:
        inside = (row >= 0) & (row <= source.height - 1)
        inside &= (column >= 0) & (column <= source.width - 1)
        found = np.full(len(row), np.nan)
        if inside.any():
            found[inside] = self._window(source, row[inside], column[inside])
        return found

    def _window(self, source: Any, row: Floats, column: Floats) -> Floats:
        top, left = math.floor(row.min()), math.floor(column.min())
        height = min(math.floor(row.max()) + 2, source.height) - top
        width = min(math.floor(column.max()) + 2, source.width) - left
        if height * width > CELL_LIMIT:
            raise WorldError(str(self._path), "is too fine for so wide an area", _PICK)
        window = self._library.windows.Window(left, top, width, height)
        try:
            cells: NDArray[Any] = source.read(1, window=window, masked=True)
        except geotiff.faults(self._library) as error:
            raise geotiff.damaged(self._path, pick=_PICK) from error
        values = np.ma.filled(cells.astype(np.float64), np.nan)
        return bilinear(values, row - top, column - left)


def _pixels(turn: Any, x: Floats, y: Floats) -> tuple[Floats, Floats]:
    """Apply an affine transform by its six named parts, which every version of it has."""
    return turn.a * x + turn.b * y + turn.c, turn.d * x + turn.e * y + turn.f
