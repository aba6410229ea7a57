"""Add ground nobody rode yet.

Gets a web and a drawn line; adds the parts of it that are not there already, tied to the network
where they touch or cross it, marked unridden.
"""

from __future__ import annotations

import numpy as np

from loopwright.geo.polyline import along, at, nearest_vertex
from loopwright.model.arrays import Floats
from loopwright.network.anchor import FOLLOW_M, crossings, touched
from loopwright.network.rows import Bools
from loopwright.network.stations import abreast_of, stations_of
from loopwright.network.web import Web

DRAWN_ERROR_M = 10.0
"""How far a hand-drawn or map line may lie off, one sigma (common practice, no source)."""
LEAST_M = 15.0
"""Less new ground than this is no line."""


def add_drawn(web: Web, xyz: Floats, *, name: str = "") -> bool:
    """Add what is new of ``xyz`` ``(n, 3)``; True also when all of it is there already."""
    drawn = stations_of([xyz])
    if drawn.dist[-1] < LEAST_M:
        return False
    new = _new(web, drawn.xyz, drawn.tangent)
    edges = np.flatnonzero(np.diff(np.concatenate(([0], new.astype(np.int8), [0]))))
    for start, stop in edges.reshape(-1, 2):
        part = drawn.xyz[max(start - 1, 0) : stop + 1]
        if along(part[:, :2])[-1] >= LEAST_M:
            _tie(web, part, name)
    return True


def _new(web: Web, xyz: Floats, tangent: Floats) -> Bools:
    numbers = sorted(web.lines)
    if not numbers:
        return np.ones(len(xyz), dtype=bool)
    table = stations_of([web.lines[k].xyz for k in numbers])
    near = abreast_of(table, xyz[:, :2], tangent, xyz[:, 2], reach_m=FOLLOW_M)
    return np.asarray(near.station < 0)


def _tie(web: Web, xyz: Floats, name: str) -> None:
    """Lay ``xyz`` from what it touches over what it crosses to what it touches."""
    places = [0, *_crossed(web, xyz), len(xyz) - 1]
    nodes = []
    for k in places:
        node = touched(web, xyz[k], reach_m=FOLLOW_M * 1.5)
        if node is None:
            node = web.new_node()
            web.add_node(node, xyz[k])
        nodes.append(node)
    for low, high, a, b in zip(places[:-1], places[1:], nodes[:-1], nodes[1:], strict=True):
        if a != b or along(xyz[low : high + 1, :2])[-1] > LEAST_M * 2:
            lay_line(web, a, b, xyz[low : high + 1], name=name)


def _crossed(web: Web, xyz: Floats) -> list[int]:
    """Vertices of ``xyz`` nearest to where it crosses lines, away from its ends."""
    run = along(xyz[:, :2])
    found = set()
    for number, at_m in crossings(web, xyz[:, :2]):
        spot = at(web.lines[number].xyz[:, :2], np.array([at_m]))[0]
        _, vertex = nearest_vertex(xyz, spot)
        if min(run[vertex], run[-1] - run[vertex]) > LEAST_M:
            found.add(vertex)
    return sorted(found)


def _level(xyz: Floats, ends: Floats) -> Floats:
    """Heights ``(n,)`` that meet those of the nodes ``(2,)``: their own shape, or straight."""
    run = along(xyz[:, :2])
    if not np.isfinite(xyz[:, 2]).all():
        return np.interp(run, run[[0, -1]], ends)
    if not np.isfinite(ends).all():
        return np.asarray(xyz[:, 2])
    return np.asarray(xyz[:, 2] + np.interp(run, run[[0, -1]], ends - xyz[[0, -1], 2]))


def lay_line(web: Web, a: int, b: int, xyz: Floats, *, name: str = "") -> int:
    """Lay an unridden line along ``xyz``, its ends pulled to the nodes; gives its number."""
    xyz = xyz.copy()
    xyz[0, :2], xyz[-1, :2] = web.nodes[a][:2], web.nodes[b][:2]
    xyz[:, 2] = _level(xyz, np.array([web.nodes[a][2], web.nodes[b][2]]))
    number = web.add_line(a, b, xyz)
    line = web.lines[number]
    line.error = np.full(len(xyz), DRAWN_ERROR_M)
    line.name, line.unridden = name, True
    return number
