"""A network as a graph of samples a few metres apart, for questions of what can be reached.

Gets a network; gives sample places and distances along the network. Promises: samples of one
stretch are linked in order and stretches only at shared junctions, never where lines just cross.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array
from scipy.sparse.csgraph import dijkstra

from loopwright.geo.polyline import length_m, resample
from loopwright.model.arrays import Floats
from loopwright.model.network import Network

STEP_M = 5.0
AT_ONCE = 1000
"""Rows of distances held at once: the whole table of a city takes a gigabyte."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SampleGraph:
    """``xy`` ``(n, 2)`` metres; ``links`` ``(n, n)`` sparse, metres between neighbours."""

    xy: Floats
    links: csr_array

    def reach(self, start: int, within_m: float) -> NDArray[np.intp]:
        """Sample numbers within ``within_m`` metres along the network of sample ``start``."""
        dist = dijkstra(self.links, directed=False, indices=np.array([start]), limit=within_m)
        return np.flatnonzero(np.isfinite(dist[0]))

    def near(self, within_m: float) -> NDArray[np.bool_]:
        """Tell for every pair ``(n, n)`` whether they are so near along the network."""
        parts = np.array_split(np.arange(len(self.xy)), len(self.xy) // AT_ONCE + 1)
        near = [
            np.isfinite(dijkstra(self.links, directed=False, indices=part, limit=within_m))
            for part in parts
        ]
        return np.vstack(near)


def sample_graph(network: Network, step_m: float = STEP_M) -> SampleGraph:
    """Build the graph; junctions come first, in the network's order."""
    index = {junction.id: k for k, junction in enumerate(network.junctions)}
    places = [np.array([junction.xy for junction in network.junctions]).reshape(-1, 2)]
    count = len(network.junctions)
    links: list[tuple[int, int, float]] = []
    for stretch in network.stretches:
        even = resample(stretch.xy, step_m)
        inner = list(range(count, count + len(even) - 2))
        chain = [index[stretch.start], *inner, index[stretch.end]]
        gap = length_m(stretch.xy) / (len(even) - 1)
        links += [(a, b, gap) for a, b in pairwise(chain)]
        places.append(even[1:-1])
        count += len(inner)
    return SampleGraph(xy=np.vstack(places), links=_sparse(links, count))


def _sparse(links: list[tuple[int, int, float]], count: int) -> csr_array:
    best: dict[tuple[int, int], float] = {}
    for a, b, gap in links:
        key = (min(a, b), max(a, b))
        if a != b:
            best[key] = min(gap, best.get(key, gap))
    rows = np.array([a for a, _ in best], dtype=np.int32)
    columns = np.array([b for _, b in best], dtype=np.int32)
    return csr_array((np.array(list(best.values())), (rows, columns)), shape=(count, count))
