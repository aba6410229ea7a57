"""Lines read from GeoJSON files.

Gets a path to a LineString, MultiLineString, GeometryCollection, Feature or FeatureCollection;
gives lines in degrees with the properties of their feature. Promises: anything that is not
positions on the globe is refused in one line naming the feature.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np

from loopwright.errors import WorldError
from loopwright.io.json_file import read_json
from loopwright.model.arrays import Floats, floats

LINE_LIMIT = 100_000
POINT_LIMIT = 2_000_000
_DEPTH_LIMIT = 8
_DRAW = "draw the line again"


def read_lines(path: Path) -> list[Floats]:
    """Return the lines of a GeoJSON file, each ``(n, 2)`` lon, lat with n >= 2."""
    return [line for line, _ in read_ground(path)]


def read_ground(path: Path) -> list[tuple[Floats, dict[str, Any]]]:
    """Return the lines of a GeoJSON file with their feature's properties.

    Geometries other than lines are passed over; raises WorldError if no line is left.
    """
    found: list[tuple[Floats, dict[str, Any]]] = []
    left = POINT_LIMIT
    for cells, words, where in _lines(path, read_json(path), {}, "", _DEPTH_LIMIT):
        left -= len(cells) if isinstance(cells, list) else 0
        if left < 0 or len(found) >= LINE_LIMIT:
            raise WorldError(str(path), "holds too many lines", "split it")
        found.append((_line(path, cells, where), words))
    if not found:
        raise WorldError(str(path), "holds no line", "give a GeoJSON LineString")
    return found


def _lines(
    path: Path, value: object, words: dict[str, Any], where: str, depth: int
) -> Iterator[tuple[object, dict[str, Any], str]]:
    """Walk down to lines; gives raw coordinates, properties and a name for the place."""
    if not isinstance(value, dict) or depth == 0:
        raise WorldError(str(path), f"is not GeoJSON{where}", "give a GeoJSON LineString")
    kind = value.get("type")
    if kind in ("FeatureCollection", "GeometryCollection"):
        key = "features" if kind == "FeatureCollection" else "geometries"
        for number, inner in enumerate(_list(path, value.get(key), where), start=1):
            yield from _lines(path, inner, words, f" at {key[:-1]} {number}", depth - 1)
    elif kind == "Feature":
        own = value.get("properties")
        if value.get("geometry") is not None:
            own = own if isinstance(own, dict) else {}
            yield from _lines(path, value["geometry"], own, where, depth - 1)
    elif kind == "LineString":
        yield value.get("coordinates"), words, where
    elif kind == "MultiLineString":
        for cells in _list(path, value.get("coordinates"), where):
            yield cells, words, where
    elif kind not in ("Point", "MultiPoint", "Polygon", "MultiPolygon"):
        raise WorldError(str(path), f"is not GeoJSON{where}", "give a GeoJSON LineString")


def _list(path: Path, value: object, where: str) -> list[Any]:
    if not isinstance(value, list):
        raise WorldError(str(path), f"is not GeoJSON (a list is missing{where})", _DRAW)
    return value


def _line(path: Path, cells: object, where: str) -> Floats:
    rows = _list(path, cells, where)
    if len(rows) < 2:
        raise WorldError(str(path), f"has a line of fewer than two points{where}", _DRAW)
    for number, row in enumerate(rows, start=1):
        if not _is_position(row):
            raise WorldError(
                str(path), f"has a bad position{where}, point {number} (lon, lat in degrees)", _DRAW
            )
    return floats(np.array([[row[0], row[1]] for row in rows], dtype=np.float64), columns=2)


def _is_position(row: object) -> bool:
    if not isinstance(row, list) or len(row) < 2:
        return False
    if not all(isinstance(cell, int | float) and not isinstance(cell, bool) for cell in row[:2]):
        return False
    return bool(abs(row[0]) <= 180 and abs(row[1]) <= 90)
