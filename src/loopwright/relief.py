"""Heights from a local file where no ride brings any.

Gets a network and a height file, gives the network with its gaps filled. Promises: heights that
rides brought are never replaced; a height file that is gone leaves the network as it is.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np

from loopwright.geo.frame import to_degrees, turned
from loopwright.geo.polyline import resample
from loopwright.io.heights import HeightGrid, open_heights
from loopwright.model.arrays import Floats
from loopwright.model.network import Network

LIFT_STEP_DEG = 1e-4
"""About 11 m: closer than the cells of usual height files."""


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


def lifted(line: Floats, height_file: str) -> Floats:
    """Give a line ``(n, 2)`` lon, lat degrees as ``(m, 3)`` with the height file's heights.

    Without a file, or where it does not know all of the line, heights are NaN and m is n. With
    one, points are added about every ``LIFT_STEP_DEG``. WorldError if the file is damaged.
    """
    bare = np.column_stack((line, np.full(len(line), np.nan)))
    if not height_file or not Path(height_file).exists():
        return bare
    near = np.column_stack((line[0, 0] + turned(line[:, 0] - line[0, 0]), line[:, 1]))
    dense = resample(near, LIFT_STEP_DEG)
    dense[:, 0] = turned(dense[:, 0])
    ele = open_heights(Path(height_file)).at(dense[:, 1], dense[:, 0])
    return np.column_stack((dense, ele)) if np.isfinite(ele).all() else bare


def _at(grid: HeightGrid, network: Network, xy: Floats) -> Floats:
    lat, lon = to_degrees(network.origin, xy)
    return grid.at(lat, lon)


def _known(have: Floats, other: Floats) -> Floats:
    """Keep what is known; shift the file's heights to meet the rides' where both are known."""
    both = np.isfinite(have) & np.isfinite(other)
    shift = float(np.median((have - other)[both])) if both.any() else 0.0
    return np.where(np.isfinite(have), have, other + shift)
