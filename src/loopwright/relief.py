"""Heights from a local file where no ride brings any.

Gets a network and a height file, gives the network with its gaps filled. Promises: heights that
rides brought are never replaced; a height file that is gone leaves the network as it is.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np

from loopwright.geo.frame import to_degrees
from loopwright.io.heights import HeightGrid, open_heights
from loopwright.model.arrays import Floats
from loopwright.model.network import Network


def filled(network: Network, height_file: str) -> Network:
    """Fill missing heights of stretches and junctions; WorldError if the file is damaged."""
    if (
        not height_file
        or not Path(height_file).exists()
        or all(np.isfinite(s.ele_m).all() for s in network.stretches)
    ):
        return network
    grid = open_heights(Path(height_file))
    stretches = tuple(
        replace(s, ele_m=_known(s.ele_m, _at(grid, network, s.xy))) for s in network.stretches
    )
    junctions = tuple(
        j if np.isfinite(j.ele_m) else replace(j, ele_m=float(_at(grid, network, j.xy[None, :])[0]))
        for j in network.junctions
    )
    return replace(network, stretches=stretches, junctions=junctions)


def _at(grid: HeightGrid, network: Network, xy: Floats) -> Floats:
    lat, lon = to_degrees(network.origin, xy)
    return grid.at(lat, lon)


def _known(have: Floats, other: Floats) -> Floats:
    """Keep what is known; shift the file's heights to meet the rides' where both are known."""
    both = np.isfinite(have) & np.isfinite(other)
    shift = float(np.median((have - other)[both])) if both.any() else 0.0
    return np.where(np.isfinite(have), have, other + shift)
