"""How many loops the ground holds, and which connector would bring more trail into one.

Gets a network; gives the number of independent loops and the shortest worthwhile connector from a
dead end. Promises: counts what can be ridden round at all, whatever is asked of a loop; a connector
is only a straight line on paper: nobody has looked whether it can be ridden.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from shapely import LineString, Point

from loopwright.geo.polyline import length_m
from loopwright.model.arrays import Floats
from loopwright.model.ids import Ways
from loopwright.model.network import Network, Stretch

if TYPE_CHECKING:
    import networkx as nx

LONGEST_M = 400.0
"""A longer connector is a trail of its own (our choice)."""
SHORTEST_M = 15.0
"""What lies nearer is the same place."""
WORTH = 3.0
"""Metres of trail a metre of connector has to bring into a loop to be named (our choice)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Connector:
    """A straight line ``xy`` ``(2, 2)`` in local metres; ``opens_m`` of trail come into a loop."""

    xy: Floats
    opens_m: float

    @property
    def length_m(self) -> float:
        """Length in metres."""
        return length_m(self.xy)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rings:
    """``loops`` counts independent loops: stretches less junctions plus parts (Euler).

    ``outside_m`` is trail that lies in no loop; ``connector`` what would open most of it.
    """

    loops: int
    outside_m: float
    connector: Connector | None = None


def rings_of(network: Network) -> Rings:
    """Count the loops of ``network`` and look for a connector; closed stretches do not count."""
    import networkx as nx  # 150 modules: none of them for a window that only takes the answer

    open_ = [s for s in network.stretches if s.ways is not Ways.CLOSED]
    graph: nx.MultiGraph[str] = nx.MultiGraph()
    for stretch in open_:
        graph.add_edge(stretch.start, stretch.end, key=stretch.id, metres=length_m(stretch.xy))
    parts = nx.number_connected_components(graph) if len(graph) else 0
    lone = _lone(graph)
    return Rings(
        loops=graph.number_of_edges() - graph.number_of_nodes() + parts,
        outside_m=sum(lone.values()),
        connector=_best(open_, graph, lone),
    )


def _lone(graph: nx.MultiGraph[str]) -> dict[frozenset[str], float]:
    """Stretches in no loop, by their two ends, with their metres."""
    import networkx as nx

    simple = nx.Graph(graph)
    twice = [pair for pair in simple.edges if graph.number_of_edges(*pair) > 1]
    bridges = set(map(frozenset, nx.bridges(simple))) - set(map(frozenset, twice))
    found: dict[frozenset[str], float] = {}
    for a, b, said in graph.edges(data=True):
        if frozenset((a, b)) in bridges:
            found[frozenset((a, b))] = float(said["metres"])
    return found


def _best(
    stretches: list[Stretch], graph: nx.MultiGraph[str], lone: dict[frozenset[str], float]
) -> Connector | None:
    """Give the connector that opens most trail less what it costs to make, or None."""
    ends = [node for node in graph if graph.degree(node) == 1]
    places: dict[str, Floats] = {s.start: s.xy[0] for s in stretches}
    places |= {s.end: s.xy[-1] for s in stretches}
    found = [c for end in ends for c in _from(end, places[end], stretches, graph, lone)]
    worth = [c for c in found if c.opens_m >= WORTH * c.length_m]
    return max(worth, key=lambda c: c.opens_m - WORTH * c.length_m, default=None)


def _from(
    end: str,
    place: Floats,
    stretches: list[Stretch],
    graph: nx.MultiGraph[str],
    lone: dict[frozenset[str], float],
) -> Iterator[Connector]:
    """Connectors from a dead end to the nearest place of every stretch; its own is too near."""
    import networkx as nx

    ways = nx.single_source_shortest_path(graph, end)
    for stretch in stretches:
        if stretch.start not in ways:
            continue
        line = LineString(stretch.xy)
        at_m = line.project(Point(place))
        gap = float(line.distance(Point(place)))
        if SHORTEST_M <= gap <= LONGEST_M:
            opens = _opened(stretch, at_m, line.length, ways, lone)
            there = line.interpolate(at_m).coords
            yield Connector(xy=np.vstack((place, there)), opens_m=opens)


def _opened(
    stretch: Stretch,
    at_m: float,
    whole_m: float,
    ways: dict[str, list[str]],
    lone: dict[frozenset[str], float],
) -> float:
    """Metres of lone trail on the way to a place of ``stretch``, by its nearer end."""
    pair = frozenset((stretch.start, stretch.end))
    first = len(ways[stretch.start]) <= len(ways[stretch.end])
    path = ways[stretch.start if first else stretch.end]
    before = sum(lone.get(frozenset(step), 0.0) for step in pairwise(path))
    if pair not in lone:
        return before
    return before + (at_m if first else whole_m - at_m)
