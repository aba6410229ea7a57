"""Round trips on a true network, and the richest of them.

Gets a network and a window of lengths; gives closed walks as arcs. Promises: no stretch twice,
one-way stretches honoured, the same answer every time. Meant for choosing example laps, not for
proving anything.
"""

from __future__ import annotations

from collections.abc import Iterator
from heapq import heappop, heappush

from loopwright.invented.walks import Roads, roads_of
from loopwright.model.ground import Feature, FeatureKind
from loopwright.model.ids import Arc, JunctionId, Way
from loopwright.model.network import Network

CORNER_WORTH_M = 12.0
"""One corner counts as much as so many metres of height gained."""


def circuits(
    network: Network,
    *,
    start: JunctionId,
    length_m: tuple[float, float],
    most: int,
    looks: float = float("inf"),
) -> Iterator[tuple[Arc, ...]]:
    """Yield up to ``most`` round trips from ``start``, lengths in the window, depth first.

    After ``looks`` walks looked at it is given up: among many short stretches nearly all walks
    home are closed off by what was ridden, and a round trip may not be found in an hour.
    """
    roads = roads_of(network)
    home = _way_home(roads, start)
    stack: list[tuple[float, tuple[Arc, ...]]] = [(0.0, ())]
    while stack and most > 0 and looks > 0:
        looks -= 1
        total, walk = stack.pop()
        here = roads.head[walk[-1]] if walk else start
        if walk and here == start:
            if length_m[0] <= total <= length_m[1]:
                most -= 1
                yield walk
            continue
        used = {name for name, _ in walk}
        for arc in roads.leaving[here]:
            ahead = total + roads.lengths[arc[0]]
            way_home = home.get(roads.head[arc], float("inf"))
            if arc[0] not in used and ahead + way_home <= length_m[1]:
                stack.append((ahead, (*walk, arc)))


def _way_home(roads: Roads, start: JunctionId) -> dict[JunctionId, float]:
    """Metres of the shortest way to ``start`` from every junction, one-ways taken as open."""
    links: dict[JunctionId, list[tuple[JunctionId, float]]] = {}
    for tail, arcs in roads.leaving.items():
        for arc in arcs:
            size = roads.lengths[arc[0]]
            links.setdefault(tail, []).append((roads.head[arc], size))
            links.setdefault(roads.head[arc], []).append((tail, size))
    best: dict[JunctionId, float] = {}
    heap: list[tuple[float, JunctionId]] = [(0.0, start)]
    while heap:
        dist, here = heappop(heap)
        if here in best:
            continue
        best[here] = dist
        for there, size in links.get(here, []):
            heappush(heap, (dist + size, there))
    return best


def richest(
    network: Network,
    features: tuple[Feature, ...],
    *,
    start: JunctionId,
    length_m: tuple[float, float],
    most: int = 4000,
) -> tuple[Arc, ...]:
    """Choose the round trip with most corners and climbing per metre.

    Raises ValueError when there is none in the window.
    """
    worth = _worth(features)
    lengths = roads_of(network).lengths

    def density(walk: tuple[Arc, ...]) -> tuple[float, tuple[Arc, ...]]:
        total = sum(lengths[name] for name, _ in walk)
        return sum(worth.get(arc, 0.0) for arc in walk) / total, walk

    return max(circuits(network, start=start, length_m=length_m, most=most), key=density)


def _worth(features: tuple[Feature, ...]) -> dict[Arc, float]:
    out: dict[Arc, float] = {}
    for feature in features:
        for way in Way:
            if not feature.way.counts(way):
                continue
            arc = (feature.stretch, way)
            size = CORNER_WORTH_M if feature.kind is FeatureKind.CORNER else feature.gain_m
            out[arc] = out.get(arc, 0.0) + size
    return out
