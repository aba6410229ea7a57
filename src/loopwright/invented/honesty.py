"""Whether the standard error is honest.

Gets a built network and the truth; gives the share of built vertices whose true line lies within
one and within two standard errors. For an honest one-sigma figure of one axis these are 68 and
95 %.
"""

from __future__ import annotations

import numpy as np
from shapely import STRtree, linestrings, points

from loopwright.model.arrays import Floats
from loopwright.model.network import Network

PIECE = 12
FAR_M = 20.0
"""A vertex this far from any true line is a false line, which other measures punish."""


def offsets(built: Network, true: Network) -> tuple[Floats, Floats]:
    """Distances ``(n,)`` of built vertices to the nearest true line, and their errors ``(n,)``."""
    if not built.stretches or not true.stretches:
        return np.zeros(0), np.zeros(0)
    lines = [linestrings(piece) for s in true.stretches for piece in _pieces(s.xy)]
    xy = np.vstack([s.xy for s in built.stretches])
    error = np.concatenate([s.std_error_m for s in built.stretches])
    _, dist = STRtree(lines).query_nearest(points(xy), return_distance=True, all_matches=False)
    near = dist <= FAR_M
    return np.asarray(dist[near]), np.asarray(error[near])


def _pieces(xy: Floats) -> list[Floats]:
    """Cut a line into short ones that share their ends: the search tree likes them small."""
    return [xy[k : k + PIECE + 1] for k in range(0, len(xy) - 1, PIECE)]


def within_errors(built: Network, true: Network) -> tuple[float, float]:
    """Share of vertices within one and within two standard errors; NaN when there are none."""
    dist, error = offsets(built, true)
    if len(dist) == 0:
        return float("nan"), float("nan")
    return float((dist <= error).mean()), float((dist <= 2 * error).mean())
