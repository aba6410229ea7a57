"""Put each junction where its branches point.

Gets a web; moves every junction to the least-squares meeting point of straight lines fitted to
its branches a little way out, where neighbours no longer pull.
"""

from __future__ import annotations

import numpy as np

from loopwright.geo.polyline import along, at
from loopwright.model.arrays import Floats
from loopwright.network.web import Web

FROM_M, TO_M = 6.0, 18.0
"""Part of a branch fitted: nearer, branches have merged; further, they have bent."""
STAY = 0.15
"""Weight of the place the lines touched, against one branch."""
FURTHEST_M = 14.0
"""No junction moves further than this."""


def place_junctions(web: Web) -> None:
    """Move junctions of three or more branches, and trim their branches to the new place."""
    for node in sorted(web.nodes):
        if web.degree(node) < 3:
            continue
        fits = [fit for number in sorted(web.at[node]) for fit in _fits(web, number, node)]
        spot = _meeting(web.nodes[node][:2], fits)
        web.move_node(node, np.array([*spot, web.nodes[node][2]]))
    for number in sorted(web.lines):
        _trim(web, number)


def _fits(web: Web, number: int, node: int) -> list[tuple[Floats, Floats]]:
    line = web.lines[number]
    ways = [line.xyz] if line.a == node else []
    ways += [line.xyz[::-1]] if line.b == node else []
    fits = []
    for xyz in ways:
        run = along(xyz[:, :2])
        low, high = min(FROM_M, run[-1] / 3), min(TO_M, run[-1] * 2 / 3)
        points = at(xyz[:, :2], np.linspace(low, high, 9))
        middle = points.mean(axis=0)
        _, _, axes = np.linalg.svd(points - middle)
        fits.append((middle, axes[0]))
    return fits


def _meeting(start: Floats, fits: list[tuple[Floats, Floats]]) -> Floats:
    total, right = STAY * np.eye(2), STAY * start
    for middle, axis in fits:
        across = np.eye(2) - np.outer(axis, axis)
        total = total + across
        right = right + across @ middle
    move = np.linalg.solve(total, right) - start
    size = float(np.hypot(*move))
    return np.asarray(start + move * min(1.0, FURTHEST_M / max(size, 1e-9)))


def _trim(web: Web, number: int) -> None:
    """Drop vertices close to a moved junction, so that the branch runs straight into it."""
    line = web.lines[number]
    run = along(line.xyz[:, :2])
    keep = np.ones(len(run), dtype=bool)
    reach = min(FROM_M, run[-1] / 3)
    if web.degree(line.a) > 2:
        keep &= np.hypot(*(line.xyz[:, :2] - line.xyz[0, :2]).T) > reach
    if web.degree(line.b) > 2:
        keep &= np.hypot(*(line.xyz[:, :2] - line.xyz[-1, :2]).T) > reach
    keep[[0, -1]] = True
    line.xyz = line.xyz[keep]
