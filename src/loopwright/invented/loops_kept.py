"""Whether the loops of one network exist in another.

Gets two networks; gives the share of loops up to 6 km of the one that can be ridden on the other:
a closed walk that stays within a few metres of the loop all the way round and never leaves the
network.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from loopwright.geo.polyline import resample
from loopwright.invented.circuits import circuits
from loopwright.invented.riders import lay_out
from loopwright.invented.sample_graph import SampleGraph, sample_graph
from loopwright.model.arrays import Floats
from loopwright.model.ids import Arc
from loopwright.model.network import Network

LONGEST_M = 6000.0
SHORTEST_M = 300.0
STATION_M = 20.0
WITHIN_M = 12.0
SLACK_M = 14.0
LOOPS_PER_START = 120
LOOPS = 60


def some_loops(network: Network, *, seed: int, count: int = LOOPS) -> list[tuple[Arc, ...]]:
    """Choose up to ``count`` loops of 300 m to 6 km, spread over the network."""
    rng = np.random.default_rng([seed, 23])
    found: dict[frozenset[str], tuple[Arc, ...]] = {}
    for junction in network.junctions:
        window = (SHORTEST_M, LONGEST_M)
        per_start = list(
            circuits(network, start=junction.id, length_m=window, most=LOOPS_PER_START)
        )
        for k in rng.permutation(len(per_start))[:8]:
            found.setdefault(frozenset(name for name, _ in per_start[k]), per_start[k])
    loops = list(found.values())
    return [loops[k] for k in rng.permutation(len(loops))[:count]]


def kept_share(network: Network, other: Network, *, seed: int) -> float:
    """Share of the loops of ``network`` that ``other`` has; NaN when there are no loops."""
    loops = some_loops(network, seed=seed)
    if not loops:
        return float("nan")
    graph = sample_graph(other)
    near = graph.near(STATION_M + SLACK_M)
    lines = [lay_out(network, loop)[0] for loop in loops]
    return float(np.mean([follows(graph, near, line) for line in lines]))


def follows(graph: SampleGraph, near: NDArray[np.bool_], line: Floats) -> bool:
    """Tell whether a closed walk on the graph stays with the closed line all the way."""
    stations = resample(line, STATION_M)[:-1]
    tree = cKDTree(graph.xy) if len(graph.xy) else None
    if tree is None:
        return False
    close = [np.array(c, dtype=np.intp) for c in tree.query_ball_point(stations, WITHIN_M)]
    if any(len(candidates) == 0 for candidates in close):
        return False
    return any(_returns(close, near, int(start)) for start in close[0])


def _returns(close: list[NDArray[np.intp]], near: NDArray[np.bool_], start: int) -> bool:
    here = np.array([start], dtype=np.intp)
    for candidates in close[1:]:
        here = candidates[near[np.ix_(here, candidates)].any(axis=0)]
        if len(here) == 0:
            return False
    return bool(near[here, start].any())
