"""Where many people go: popular ways from few starts, others hardly.

Gets a true network and a seeded generator; gives walks (arcs in order), and the part of the
network that they show. Promises: every walk begins and ends at the same place.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import networkx as nx
import numpy as np

from loopwright.geo.polyline import length_m
from loopwright.model.ids import Arc, JunctionId, StretchId, Way
from loopwright.model.network import Network

LIKED = 0.4
"""A way twice as popular seems shorter by two to this."""
OUTER, STARTS, SECOND = 12, 2, 0.3
"""Starts lie at two of the outermost places; the second serves so many."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Ground:
    graph: nx.MultiGraph[JunctionId]
    names: tuple[StretchId, ...]
    chance: tuple[float, ...]
    network: Network

    def way(self, a: JunctionId, b: JunctionId) -> list[Arc]:
        """Give the arcs of the most liked way."""
        places = nx.shortest_path(self.graph, a, b, weight="effort")
        return [self.arc(u, v) for u, v in pairwise(places)]

    def arc(self, u: JunctionId, v: JunctionId) -> Arc:
        """Give the best arc from one place to the next."""
        among = self.graph[u][v]
        name = StretchId(min(among, key=lambda key: (among[key]["effort"], key)))
        return name, Way.FORWARD if among[name]["start"] == u else Way.BACKWARD


def popular(
    network: Network, rng: np.random.Generator, *, walks: int, length_m: tuple[float, float]
) -> list[tuple[Arc, ...]]:
    """Make walks of about a length drawn between the two, by way of places drawn by liking."""
    ground = _ground_of(network, rng)
    starts = _starts(ground, rng)
    return [
        _walk(ground, rng, starts[int(rng.uniform() < SECOND)], float(rng.uniform(*length_m)))
        for _ in range(walks)
    ]


def _ground_of(network: Network, rng: np.random.Generator) -> _Ground:
    liked = np.exp(rng.standard_normal(len(network.stretches)))
    graph: nx.MultiGraph[JunctionId] = nx.MultiGraph()
    for stretch, much in zip(network.stretches, liked.tolist(), strict=True):
        effort = length_m(stretch.xy) / much**LIKED
        graph.add_edge(
            stretch.start, stretch.end, key=stretch.id, effort=effort, start=stretch.start
        )
    whole = max(nx.connected_components(graph), key=lambda nodes: (len(nodes), min(nodes)))
    kept = graph.subgraph(whole)
    inside = [k for k, stretch in enumerate(network.stretches) if stretch.start in whole]
    chance = liked[inside] / liked[inside].sum()
    names = tuple(network.stretches[k].id for k in inside)
    return _Ground(graph=kept, names=names, chance=tuple(chance.tolist()), network=network)


def _starts(ground: _Ground, rng: np.random.Generator) -> list[JunctionId]:
    places = {j.id: np.asarray(j.xy) for j in ground.network.junctions if j.id in ground.graph}
    middle = np.mean(list(places.values()), axis=0)
    outer = sorted(places, key=lambda name: -float(np.hypot(*(places[name] - middle))))[:OUTER]
    return [outer[int(k)] for k in rng.choice(len(outer), STARTS, replace=False)]


def _walk(
    ground: _Ground, rng: np.random.Generator, start: JunctionId, wanted_m: float
) -> tuple[Arc, ...]:
    named = {stretch.id: stretch for stretch in ground.network.stretches}
    walk: list[Arc] = []
    here, total_m = start, 0.0
    while total_m < wanted_m:
        goal = named[ground.names[int(rng.choice(len(ground.names), p=ground.chance))]]
        way = Way.FORWARD if rng.uniform() < 0.5 else Way.BACKWARD
        near, far = (goal.start, goal.end) if way is Way.FORWARD else (goal.end, goal.start)
        leg = [*ground.way(here, near), (goal.id, way)]
        walk += leg
        total_m += sum(length_m(named[name].xy) for name, _ in leg)
        here = far
    return (*walk, *ground.way(here, start))


def shown_by(network: Network, walks: Sequence[Sequence[Arc]]) -> Network:
    """Give the part of a network that walks show, its junctions counted anew."""
    names = {name for walk in walks for name, _ in walk}
    stretches = tuple(stretch for stretch in network.stretches if stretch.id in names)
    degree = Counter(end for stretch in stretches for end in (stretch.start, stretch.end))
    junctions = tuple(
        replace(junction, degree=degree[junction.id])
        for junction in network.junctions
        if junction.id in degree
    )
    return replace(network, stretches=stretches, junctions=junctions)
