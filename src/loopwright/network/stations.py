"""Evenly spaced stations on the lines of a web, and which sample belongs to which.

Gets lines; gives a flat table of stations, and for samples the station they lie abreast of.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from loopwright.geo.planar import dots, left_of, unit
from loopwright.geo.polyline import along, stations
from loopwright.model.arrays import Floats
from loopwright.network.rows import Rows

STATION_M = 2.5
"""Spacing of a network's vertices: two a sample, finer than any error."""
HEADING_COS = 0.6
"""A sample headed more than 53 degrees off a line does not ride it (in junctions lines bend)."""
BRIDGE_M = 4.0
"""Clear height of a bridge over a trail; two grounds closer than this are one (common practice)."""
TOGETHER = 20_000
"""Samples looked at together, so that their choices stay in the processor's cache."""
CHOICES = 10
"""Nearest stations looked at for each sample: five metres of the two nearest lines."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stations:
    """Stations of several lines, one row each.

    ``xyz`` ``(n, 3)`` metres; ``tangent`` ``(n, 2)`` unit; ``line`` ``(n,)`` place of the line in
    the list given; ``dist`` ``(n,)`` metres along it; ``first`` ``(lines + 1,)`` rows.
    """

    xyz: Floats
    tangent: Floats
    line: Rows
    dist: Floats
    first: Rows

    def __len__(self) -> int:
        """Count the stations."""
        return len(self.dist)

    @property
    def left(self) -> Floats:
        """Unit vectors ``(n, 2)`` to the left of each line."""
        return left_of(self.tangent)

    def gap_m(self, xy: Floats) -> Floats:
        """Metres ``(k,)`` from places ``(k, 2)`` to the nearest station; infinite without any."""
        return np.asarray(cKDTree(self.xyz[:, :2]).query(xy)[0])


def stations_of(lines: Sequence[Floats], *, step_m: float = STATION_M) -> Stations:
    """Put stations on ``lines`` (each ``(k, 3)``), both ends included."""
    parts = [_resampled(xyz, step_m) for xyz in lines]
    sizes = [len(part) for part in parts]
    first = np.concatenate(([0], np.cumsum(sizes))).astype(np.int32)
    xyz = np.concatenate(parts) if parts else np.zeros((0, 3))
    dist = [along(part[:, :2]) for part in parts]
    return Stations(
        xyz=xyz,
        tangent=_tangents(xyz, first),
        line=np.repeat(np.arange(len(parts), dtype=np.int32), sizes),
        dist=np.concatenate(dist) if dist else np.zeros(0),
        first=first,
    )


def _resampled(xyz: Floats, step_m: float) -> Floats:
    run = along(xyz[:, :2])
    want = stations(float(run[-1]), step_m)
    out = np.column_stack([np.interp(want, run, xyz[:, k]) for k in (0, 1, 2)])
    out[0], out[-1] = xyz[0], xyz[-1]
    return out


def _tangents(xyz: Floats, first: Rows) -> Floats:
    rows = np.arange(len(xyz))
    sizes = np.diff(first)
    low = np.maximum(rows - 1, np.repeat(first[:-1], sizes))
    high = np.minimum(rows + 1, np.repeat(first[1:], sizes) - 1)
    return unit(xyz[high, :2] - xyz[low, :2])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Abreast:
    """Where samples lie on the lines.

    For each sample ``(n,)`` the station abreast (-1 for none), the metres ``forth`` along the line
    from there, and the metres ``across`` to the left of the line.
    """

    station: Rows
    forth: Floats
    across: Floats


def abreast_of(
    table: Stations, xy: Floats, head: Floats, ele: Floats, *, reach_m: float
) -> Abreast:
    """Find for each sample ``(n, 2)`` the best station: near, headed alike, on its level."""
    if len(table) == 0 or len(xy) == 0:
        none = np.full(len(xy), -1, dtype=np.int64)
        return Abreast(station=none, forth=np.zeros(len(xy)), across=np.zeros(len(xy)))
    tree = cKDTree(table.xyz[:, :2])
    # A row past the last stands for no further station: what is read there suits no sample.
    columns = [np.append(column, np.nan) for column in (*table.tangent.T, table.xyz[:, 2])]
    station = np.concatenate(
        [
            _best(columns, tree, xy[part], head[part], ele[part], reach_m=reach_m)
            for part in (slice(low, low + TOGETHER) for low in range(0, len(xy), TOGETHER))
        ]
    )
    off = xy - table.xyz.take(station, axis=0)[:, :2]
    tangent = table.tangent.take(station, axis=0)
    return Abreast(station=station, forth=dots(off, tangent), across=dots(off, left_of(tangent)))


def _best(
    columns: Sequence[Floats],
    tree: cKDTree,
    xy: Floats,
    head: Floats,
    ele: Floats,
    *,
    reach_m: float,
) -> Rows:
    """Station that suits each sample best; -1 for none.

    ``columns`` tell of each station east and north of its tangent, and its height.
    """
    found = tree.query(xy, k=range(1, min(CHOICES, tree.n) + 1), distance_upper_bound=reach_m)
    gap, row = np.asarray(found[0]), np.asarray(found[1])
    east, north, height = (column.take(row) for column in columns)
    cos = np.abs(east * head[:, :1] + north * head[:, 1:])
    level = ~(np.abs(height - ele[:, None]) > BRIDGE_M)
    cost = np.where((cos > HEADING_COS) & level, gap + 4.0 * (1 - cos), np.inf)
    best = cost.argmin(axis=1)
    rows = np.arange(len(xy))
    return np.where(np.isfinite(cost[rows, best]), row[rows, best], -1)
