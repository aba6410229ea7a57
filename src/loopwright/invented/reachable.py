"""What can be reached from here: punishes false and missing links.

Gets two networks; gives a share over many seeds. From each seed on the truth, and the built sample
nearest to it, everything within 300 m along each network is matched one to one. A seed with
nothing built near it counts as all missed (as in Biagioni and Eriksson 2012,
doi 10.3141/2291-08).
"""

from __future__ import annotations

import numpy as np
from scipy.spatial import cKDTree

from loopwright.invented.marbles import NOTHING, Share, matched
from loopwright.invented.sample_graph import SampleGraph, sample_graph
from loopwright.model.network import Network

REACH_M = 300.0
SEED_EVERY = 40
"""One seed every so many samples of 5 m."""
SNAP_M = 15.0


def reachable_share(built: Network, true: Network, within_m: float) -> Share:
    """Sum over seeds of marbles and holes of what is within 300 m along the network."""
    want, have = sample_graph(true), sample_graph(built)
    total = NOTHING
    for seed in range(0, len(want.xy), SEED_EVERY):
        total = total + _from_seed(have, want, seed, within_m)
    return total


def _from_seed(have: SampleGraph, want: SampleGraph, seed: int, within_m: float) -> Share:
    true = want.xy[want.reach(seed, REACH_M)]
    if len(have.xy) == 0:
        return Share(hits=0, found=0, true=len(true))
    gap, nearest = cKDTree(have.xy).query(want.xy[seed])
    if float(gap) > SNAP_M:
        return Share(hits=0, found=0, true=len(true))
    found = have.xy[have.reach(int(nearest), REACH_M)]
    return matched(np.asarray(found), np.asarray(true), within_m)
