"""Which samples lie beside which.

Gets sample positions and headings; gives pairs of samples of different passes that lie abreast:
near in the direction of travel, within reach across it, headed the same or the opposite way.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from loopwright.model.arrays import Floats
from loopwright.network.rows import Bools, Rows
from loopwright.network.samples import STEP_M, Samples

SAME_LINE_COS = 0.75
"""Headings closer than 41 degrees, either way round, may be the same trail."""
ABREAST_M = 0.7 * STEP_M
"""Half a step and a margin: each pass shows about one sample abreast of any place."""
OWN_GAP_M = 25.0
"""Samples of one ride closer than this along it are the same pass, not another."""
CHUNK = 100_000
"""Pairs looked at together: few enough to stay in the processor's cache."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pairs:
    """Directed pairs: sample ``j`` lies abreast of sample ``i``; ``own`` marks one ride's own."""

    i: Rows
    j: Rows
    own: Bools

    def __len__(self) -> int:
        """Count the pairs."""
        return len(self.i)

    def ordered(self) -> Pairs:
        """Sort by ``i``, then ``j``."""
        order = np.lexsort((self.j, self.i))
        return self.kept(order)

    def kept(self, rows: Rows | Bools) -> Pairs:
        """Keep some pairs."""
        return Pairs(i=self.i[rows], j=self.j[rows], own=self.own[rows])


def abreast(samples: Samples, xy: Floats, head: Floats, *, reach_m: float) -> Pairs:
    """Find all pairs within ``reach_m`` across, at positions ``xy`` and headings ``head``."""
    tree = cKDTree(xy)
    found = tree.query_pairs(float(np.hypot(reach_m, ABREAST_M)), output_type="ndarray")
    found = found.astype(np.int32)
    kept = [
        part[_alike(samples, xy, head, part, reach_m)]
        for part in np.array_split(found, max(1, len(found) // CHUNK))
    ]
    a, b = np.concatenate(kept).T
    i, j = np.concatenate((a, b)), np.concatenate((b, a))
    return Pairs(i=i, j=j, own=samples.ride[i] == samples.ride[j])


def _alike(samples: Samples, xy: Floats, head: Floats, pair: Rows, reach_m: float) -> Bools:
    a, b = pair[:, 0], pair[:, 1]
    one, two = head[a], head[b]
    cos = one[:, 0] * two[:, 0] + one[:, 1] * two[:, 1]
    gap = xy[b] - xy[a]
    sign = np.where(cos < 0, -1.0, 1.0)
    x, y = one[:, 0] + sign * two[:, 0], one[:, 1] + sign * two[:, 1]
    # The sum of two unit vectors has length sqrt(2 + 2 |cos|).
    size = np.sqrt(2.0 + 2.0 * np.abs(cos))
    forth = np.abs(gap[:, 0] * x + gap[:, 1] * y)
    across = np.abs(gap[:, 1] * x - gap[:, 0] * y)
    good = (np.abs(cos) > SAME_LINE_COS) & (forth <= ABREAST_M * size) & (across <= reach_m * size)
    near = np.abs(samples.dist[a] - samples.dist[b]) < OWN_GAP_M
    return np.asarray(good & ~((samples.piece[a] == samples.piece[b]) & near & (cos > 0)))


def across_m(xy: Floats, head: Floats, pairs: Pairs) -> Floats:
    """Signed offset ``(k,)`` of each ``j`` to the left of ``i``, metres."""
    gap = xy[pairs.j] - xy[pairs.i]
    way = head[pairs.i]
    return np.asarray(gap[:, 1] * way[:, 0] - gap[:, 0] * way[:, 1])
