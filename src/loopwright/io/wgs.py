"""Lines of the local frame as positions in degrees, ready for JSON and GPX.

Gets metres east and north with heights; gives lon, lat (degrees, 7 decimals) and metres.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from loopwright.geo.frame import to_degrees
from loopwright.geo.polyline import along
from loopwright.io.json_file import degrees, metres
from loopwright.model.arrays import Floats
from loopwright.model.frame import Origin


def positions(origin: Origin, xy: Floats, ele_m: Floats) -> Floats:
    """Return ``(n, 3)`` lon, lat, ele for local metres ``(n, 2)`` and heights ``(n,)``."""
    lat, lon = to_degrees(origin, xy)
    return np.column_stack((lon, lat, ele_m)).reshape(-1, 3)


def cut(xy: Floats, ele_m: Floats, *, from_m: float, to_m: float) -> tuple[Floats, Floats]:
    """Cut a line to metres ``from_m`` to ``to_m`` along itself, its own vertices kept between.

    Both ends are held on the line; heights ``(n,)`` are interpolated, NaN stays NaN.
    """
    run = along(xy)
    low, high = (float(np.clip(value, 0.0, run[-1])) for value in (from_m, max(from_m, to_m)))
    inner = run[(run > low) & (run < high)]
    at_m = np.concatenate(([low], inner, [high]))
    points = np.column_stack([np.interp(at_m, run, xy[:, axis]) for axis in (0, 1)])
    return points, np.interp(at_m, run, ele_m)


def position(row: Floats) -> list[float]:
    """Write lon, lat, ele ``(3,)`` as a GeoJSON position; the height is left out if unknown."""
    place = [degrees(row[0]), degrees(row[1])]
    height = metres(float(row[2])) if math.isfinite(row[2]) else None
    return place if height is None else [*place, height]


def point(row: Floats) -> dict[str, object]:
    """Write lon, lat, ele ``(3,)`` as a GeoJSON Point."""
    return {"type": "Point", "coordinates": position(row)}


def line_string(rows: Floats) -> dict[str, object]:
    """Write ``(n, 3)`` lon, lat, ele as a GeoJSON LineString.

    A line over the antimeridian becomes a MultiLineString cut there (RFC 7946, 3.1.9).
    """
    return lines((rows,))


def lines(parts: Sequence[Floats]) -> dict[str, object]:
    """Write one or more lines ``(n, 3)`` as one LineString or MultiLineString."""
    cells = [
        [position(row) for row in piece] for part in parts for piece in cut_at_antimeridian(part)
    ]
    if len(cells) == 1:
        return {"type": "LineString", "coordinates": cells[0]}
    return {"type": "MultiLineString", "coordinates": cells}


def cut_at_antimeridian(rows: Floats) -> list[Floats]:
    """Cut ``(n, 3)`` lon, lat, ele where it jumps by more than half the globe.

    Each piece ends and the next begins on the meridian of 180 degrees, heights interpolated.
    """
    jumps = np.flatnonzero(np.abs(np.diff(rows[:, 0])) > 180.0)
    pieces, start = [], rows[:0]
    first = 0
    for jump in jumps.tolist():
        before, after = rows[jump], rows[jump + 1].copy()
        edge = math.copysign(180.0, before[0])
        after[0] += 2 * edge
        share = (edge - before[0]) / (after[0] - before[0])
        meeting = before + share * (after - before)
        meeting[0] = edge
        pieces.append(np.vstack((start, rows[first : jump + 1], meeting)))
        start, first = meeting * np.array([-1.0, 1.0, 1.0]), jump + 1
        start = start.reshape(1, 3)
    return [*pieces, np.vstack((start, rows[first:]))]
