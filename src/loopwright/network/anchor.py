"""Find the place on the network a person meant.

Gets a web and a line or point in local metres; gives the lines it follows, the node it touches,
the lines it crosses. A web changes between builds by some metres, hence the reaches.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loopwright.geo.planar import dots
from loopwright.geo.polyline import along
from loopwright.model.arrays import Floats
from loopwright.network.stations import STATION_M, abreast_of, stations_of
from loopwright.network.web import Web

FOLLOW_M = 10.0
"""Builds differ by 2 m and fingers by more; beyond this a line means other ground."""
TOUCH_M = 15.0
"""A line's end means the nearest trail within this."""
WHOLE = 0.6
"""A line followed over this share is meant whole."""
PART_M = 25.0
"""A part shorter than this is the drawn line running past."""
END_M = 15.0
"""A part that ends this near to a line's end reaches it."""
NODE_M = 6.0
"""A place this near to a junction is the junction; a dead end draws from ``END_M``."""


@dataclass(frozen=True, slots=True)
class Part:
    """Line ``number`` from ``from_m`` to ``to_m``; ``forward`` when drawn the way it is stored."""

    number: int
    from_m: float
    to_m: float
    forward: bool


def followed(web: Web, xyz: Floats) -> list[Part]:
    """Find what a drawn line ``(n, 3)`` follows, in no particular order."""
    numbers = sorted(web.lines)
    if not numbers or len(xyz) < 2:
        return []
    table = stations_of([web.lines[k].xyz for k in numbers])
    drawn = stations_of([xyz])
    near = abreast_of(table, drawn.xyz[:, :2], drawn.tangent, drawn.xyz[:, 2], reach_m=FOLLOW_M)
    hit = near.station >= 0
    station = near.station[hit]
    onward = dots(table.tangent[station], drawn.tangent[hit])
    parts = []
    for place in np.unique(table.line[station]):
        mine = table.line[station] == place
        dist = table.dist[station[mine]]
        length = float(table.dist[table.first[place + 1] - 1])
        part = _part(dist, length)
        if part is not None:
            forward = float(onward[mine].sum()) >= 0
            parts.append(Part(numbers[int(place)], *part, forward))
    return parts


def _part(dist: Floats, length: float) -> tuple[float, float] | None:
    low, high = float(dist.min()), float(dist.max())
    if len(np.unique(dist)) * STATION_M >= WHOLE * length:
        return 0.0, length
    if high - low < PART_M:
        return None
    return (0.0 if low < END_M else low), (length if length - high < END_M else high)


def carve(web: Web, part: Part) -> int:
    """Split a line so that ``part`` is a line of its own; gives its number."""
    number, from_m, to_m = part.number, part.from_m, part.to_m
    if from_m > 0:
        number = _split(web, number, from_m)[1]
        to_m -= from_m
    if to_m < web.lines[number].length_m - NODE_M:
        number = _split(web, number, to_m)[0]
    return number


def _split(web: Web, number: int, at_m: float) -> tuple[int, int]:
    run = along(web.lines[number].xyz[:, :2])
    vertex = int(np.clip(np.abs(run - at_m).argmin(), 1, len(run) - 2))
    return web.split_line(number, vertex, web.new_node())


def touched(web: Web, place: Floats, reach_m: float = TOUCH_M) -> int | None:
    """Find the node at ``place``, making one on the nearest line; None when nothing is near."""
    gap_m, number, vertex = min(web.nearest(place, web.lines), default=(np.inf, 0, 0))
    if gap_m > reach_m:
        return None
    line = web.lines[number]
    run = along(line.xyz[:, :2])
    reach = {node: END_M if web.degree(node) == 1 else NODE_M for node in (line.a, line.b)}
    if run[vertex] < reach[line.a]:
        return line.a
    if run[-1] - run[vertex] < reach[line.b]:
        return line.b
    return web.node_at(number, vertex)


def crossings(web: Web, xy: Floats) -> list[tuple[int, float]]:
    """Find where a drawn line ``(n, 2)`` crosses lines: line numbers and metres along them."""
    found = []
    for number in sorted(web.lines):
        line = web.lines[number].xyz[:, :2]
        run = along(line)
        for at in _crossed(line, xy):
            segment = int(at)
            found.append((number, float(run[segment] + (at - segment) * np.diff(run)[segment])))
    return found


def _crossed(line: Floats, xy: Floats) -> list[float]:
    """Places on ``line`` (segment and share as one number) where ``xy`` crosses it."""
    p, r = line[:-1, None], np.diff(line, axis=0)[:, None]
    q, s = xy[None, :-1], np.diff(xy, axis=0)[None]
    cross = r[..., 0] * s[..., 1] - r[..., 1] * s[..., 0]
    gap = q - p
    with np.errstate(divide="ignore", invalid="ignore"):
        t = (gap[..., 0] * s[..., 1] - gap[..., 1] * s[..., 0]) / cross
        u = (gap[..., 0] * r[..., 1] - gap[..., 1] * r[..., 0]) / cross
    hit = (t >= 0) & (t < 1) & (u >= 0) & (u <= 1)
    rows = np.argwhere(hit)
    return sorted(float(k + t[k, m]) for k, m in rows)
