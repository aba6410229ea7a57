"""Whether the loops of one network exist in another.

Gets a network and another one, prepared; gives the share of loops up to 6 km of the one that can
be ridden on the other.
"""

from __future__ import annotations

import numpy as np

from loopwright.invented.circuits import circuits
from loopwright.invented.rideable import Rideable
from loopwright.invented.riders import lay_out
from loopwright.model.ids import Arc
from loopwright.model.network import Network

LONGEST_M = 6000.0
SHORTEST_M = 300.0
LOOPS_PER_START = 120
LOOKS_PER_START = 300_000
LOOPS = 60


def some_loops(network: Network, *, seed: int, count: int = LOOPS) -> list[tuple[Arc, ...]]:
    """Choose up to ``count`` loops of 300 m to 6 km, spread over the network."""
    rng = np.random.default_rng([seed, 23])
    found: dict[frozenset[str], tuple[Arc, ...]] = {}
    for junction in network.junctions:
        window = (SHORTEST_M, LONGEST_M)
        per_start = list(
            circuits(
                network,
                start=junction.id,
                length_m=window,
                most=LOOPS_PER_START,
                looks=LOOKS_PER_START,
            )
        )
        for k in rng.permutation(len(per_start))[:8]:
            found.setdefault(frozenset(name for name, _ in per_start[k]), per_start[k])
    loops = list(found.values())
    return [loops[k] for k in rng.permutation(len(loops))[:count]]


def kept_share(network: Network, other: Rideable, *, seed: int) -> float:
    """Share of the loops of ``network`` that ``other`` has; NaN when there are no loops."""
    loops = some_loops(network, seed=seed)
    if not loops:
        return float("nan")
    return float(np.mean([other.has_round(lay_out(network, loop)[0]) for loop in loops]))
