"""Which way invented riders go.

Gets a true network and a seeded generator; gives walks (arcs in order). Promises: one-way
stretches are honoured, nobody turns on the spot except at a dead end, and every stretch is
ridden about equally often.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from heapq import heappop, heappush

import numpy as np

from loopwright.geo.polyline import length_m
from loopwright.model.ids import Arc, JunctionId, StretchId, Way
from loopwright.model.network import Network

MOST_ROUNDS = 4.0
"""Nobody rides a small place more often than this in one outing."""


@dataclass(slots=True)
class Roads:
    """A network as arcs: where each leads, how long it is, how often it was ridden."""

    lengths: Mapping[StretchId, float]
    leaving: Mapping[JunctionId, list[Arc]]
    head: Mapping[Arc, JunctionId]
    ridden: dict[Arc, int] = field(default_factory=dict)


def roads_of(network: Network) -> Roads:
    """Index a network for walking."""
    leaving: dict[JunctionId, list[Arc]] = {j.id: [] for j in network.junctions}
    head: dict[Arc, JunctionId] = {}
    for stretch in network.stretches:
        for way, tail, tip in (
            (Way.FORWARD, stretch.start, stretch.end),
            (Way.BACKWARD, stretch.end, stretch.start),
        ):
            if stretch.ways.allows(way):
                leaving[tail].append((stretch.id, way))
                head[stretch.id, way] = tip
    lengths = {s.id: length_m(s.xy) for s in network.stretches}
    return Roads(lengths=lengths, leaving=leaving, head=head, ridden=dict.fromkeys(head, 0))


def cover(
    network: Network, rng: np.random.Generator, *, rides: int, length_m: tuple[float, float]
) -> list[tuple[Arc, ...]]:
    """Make walks of random length between the two, each seeking what was ridden least so far."""
    roads = roads_of(network)
    return [_walk(roads, rng, float(rng.uniform(*length_m))) for _ in range(rides)]


def _walk(roads: Roads, rng: np.random.Generator, wanted_m: float) -> tuple[Arc, ...]:
    walk = [_least(roads, rng, list(roads.head))]
    _count(roads, walk[0])
    total = roads.lengths[walk[0][0]]
    wanted_m = min(wanted_m, MOST_ROUNDS * _reachable_m(roads, walk[0]))
    while total < wanted_m:
        onward = _onward(roads, rng, walk[-1])
        if not onward:
            break
        for arc in onward:
            walk.append(arc)
            _count(roads, arc)
            total += roads.lengths[arc[0]]
    return tuple(walk)


def _reachable_m(roads: Roads, first: Arc) -> float:
    names = {name for name, _ in _shortest_from(roads, first, reach_m=float("inf"))}
    return sum(roads.lengths[name] for name in sorted(names | {first[0]}))


def _count(roads: Roads, arc: Arc) -> None:
    roads.ridden[arc] += 1


def _passes(roads: Roads, arc: Arc) -> float:
    other = roads.ridden.get((arc[0], arc[1].other), 0)
    return roads.ridden[arc] + 0.8 * other


def _least(roads: Roads, rng: np.random.Generator, arcs: list[Arc]) -> Arc:
    keys = np.array([_passes(roads, arc) for arc in arcs]) + rng.uniform(0.0, 0.9, len(arcs))
    return arcs[int(keys.argmin())]


def _onward(roads: Roads, rng: np.random.Generator, last: Arc) -> list[Arc]:
    """Find the way to a stretch ridden seldom, that stretch included."""
    before = _shortest_from(roads, last)
    if not before:
        return []
    goal = _least(roads, rng, sorted(before))
    path = [goal]
    while before[path[-1]] != last:
        path.append(before[path[-1]])
    return path[::-1]


def _shortest_from(roads: Roads, last: Arc, reach_m: float = 1500.0) -> dict[Arc, Arc]:
    """For each arc within reach the arc ridden before it, on a shortest way from ``last``."""
    before: dict[Arc, Arc] = {}
    heap: list[tuple[float, Arc, Arc]] = []
    for arc in _next(roads, last):
        heappush(heap, (0.0, arc, last))
    while heap:
        dist, arc, prior = heappop(heap)
        if arc in before:
            continue
        before[arc] = prior
        onward = dist + roads.lengths[arc[0]]
        if onward < reach_m and arc != last:
            for after in _next(roads, arc):
                if after not in before:
                    heappush(heap, (onward, after, arc))
    return before


def _next(roads: Roads, arc: Arc) -> list[Arc]:
    """Arcs that may follow: not straight back, unless nothing else is left."""
    leaving = roads.leaving[roads.head[arc]]
    back = (arc[0], arc[1].other)
    return [after for after in leaving if after != back] or leaving
