"""Let loose ends meet the line they lead to.

Gets a web; where a trail ends nearer to another line than two junctions of one network can be, they
meet, whoever begins or stops there: a car park at a junction leaves such an end. Promises: the line
that is met keeps its place; an end that runs beside a line, one a bridge's height above it, and one
of a line that passed once, stay loose.
"""

from __future__ import annotations

import numpy as np
from scipy.spatial import cKDTree

from loopwright.geo.polyline import nearest_vertex
from loopwright.network.carry import LEAST
from loopwright.network.stations import BRIDGE_M
from loopwright.network.turns import AWAY_GAP_M, AWAY_M
from loopwright.network.unzip import place_out
from loopwright.network.web import End, Web


def meet(web: Web) -> int:
    """Tie loose ends to the nearest line within ``web.link_m``; gives how many."""
    tied = 0
    while more := _met_at_once(web):  # a tie cuts a line, and others may lead to it too
        tied += more
    return tied


def _met_at_once(web: Web) -> int:
    numbers = sorted(web.lines)
    if not numbers:
        return 0
    places = [web.lines[k].xyz[:, :2] for k in numbers]
    owner = np.repeat(numbers, [len(xy) for xy in places])
    tree = cKDTree(np.concatenate(places))
    tied = 0
    for node in sorted(web.nodes):
        if node in web.nodes and web.degree(node) == 1:
            near = tree.query_ball_point(web.nodes[node][:2], web.link_m)
            tied += _met(web, node, set(owner[near].tolist()))
    return tied


def _met(web: Web, node: int, numbers: set[int]) -> bool:
    """Tie a loose end to the nearest of the lines that are still there."""
    (end,) = web.ends_at(node)
    if web.lines[end[0]].passes < LEAST:
        return False
    here = web.nodes[node]
    for _, number, vertex in web.nearest(here, (numbers & web.lines.keys()) - {end[0]}):
        height_m = abs(web.lines[number].xyz[vertex, 2] - here[2])
        if not height_m > BRIDGE_M and _leads_there(web, end, number):
            web.merge_nodes(web.node_at(number, vertex), node)
            return True
    return False


def _leads_there(web: Web, end: End, number: int) -> bool:
    """Tell whether a line comes from somewhere else than from beside another."""
    return nearest_vertex(web.lines[number].xyz, place_out(web, end, AWAY_M))[0] >= AWAY_GAP_M
