"""Carry a trail on along its rides, to the line they go on by.

Gets a web, a loose end and what rides did from there on; lays a line along the middle one of the
rides that agree. What was drawn there at first may have been dropped as strays, each strand of it
alone. Promises: the line ends on the first line it comes to, never on one above or below.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.spatial import cKDTree
from scipy.spatial.distance import cdist

from loopwright.geo.polyline import at, length_m, nearest_vertex
from loopwright.model.arrays import Floats
from loopwright.network.stations import BRIDGE_M, stations_of
from loopwright.network.web import Web

LEAST = 2
"""Passes that must go on, and agree."""
SAME_M, AGREE_M = 30.0, 15.0
"""Rides agree that go on within so far of each other, and of which half keep so near to one."""
MEET_M = 10.0
"""A ride so near to a line has come to it: in shade errors keep it off for long."""
BEFORE_ROWS = 8
"""So early on its way a ride comes by the end itself, in samples (40 m)."""
SPOTS = 20
"""Places along two ways at which they are compared."""


def carry_on(web: Web, node: int, ways: Sequence[Floats], met: Sequence[int]) -> bool:
    """Lay a line from a loose end along rides; tells whether they agree enough.

    ``ways`` ``(n, 3)``, metres, lead from the end to where each ride goes on by the line of ``web``
    whose number ``met`` holds in the same place.
    """
    if len(ways) < LEAST:
        return False
    to = np.array([way[-1, :2] for way in ways])
    same = cdist(to, to) <= SAME_M
    chosen = np.flatnonzero(same[same.sum(axis=1).argmax()]).tolist()
    middle, off_m = _middle([ways[k][:, :2] for k in chosen])
    if len(chosen) < LEAST or off_m > AGREE_M:
        return False
    way, number = _from_end(web.nodes[node], ways[chosen[middle]]), met[chosen[middle]]
    if number not in web.at[node]:
        way, number = _until_met(web, node, way, number)
    there = web.node_at(number, nearest_vertex(web.lines[number].xyz, way[-1])[1])
    if there == node:
        return False
    web.add_line(node, there, np.vstack((web.nodes[node], way, web.nodes[there])))
    return True


def _middle(ways: Sequence[Floats]) -> tuple[int, float]:
    """Give the way ``(n, 2)`` that keeps nearest to half of all, and how near in metres."""
    spots = np.array([at(way, np.linspace(0.0, length_m(way), SPOTS)) for way in ways])
    apart_m = np.hypot(*np.moveaxis(spots[:, None] - spots[None], -1, 0)).mean(axis=2)
    off_m = np.median(apart_m, axis=1)
    return int(off_m.argmin()), float(off_m.min())


def _from_end(end: Floats, way: Floats) -> Floats:
    """Leave out what of a way ``(n, 3)`` was ridden beside the line before its end."""
    return way[nearest_vertex(way[:BEFORE_ROWS], end)[1] :]


def _until_met(web: Web, node: int, way: Floats, number: int) -> tuple[Floats, int]:
    """Cut a way ``(n, 3)`` where it first comes to a line it did not come by, and give that."""
    others = sorted(set(web.lines) - web.at[node])
    table = stations_of([web.lines[k].xyz for k in others])
    found = cKDTree(table.xyz[:, :2]).query(way[:, :2])
    gap_m, row = (np.asarray(column) for column in found)
    level = ~(np.abs(table.xyz[row, 2] - way[:, 2]) > BRIDGE_M)
    met = np.flatnonzero((gap_m < MEET_M) & level)
    return (way[: met[0] + 1], others[table.line[row[met[0]]]]) if len(met) else (way, number)
