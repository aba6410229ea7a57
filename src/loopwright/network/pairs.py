"""Which samples lie beside which.

Gets sample positions and headings; gives pairs of samples of different passes that lie abreast:
near in the direction of travel, within reach across it, headed the same or the opposite way.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from loopwright.model.arrays import Floats, Ints
from loopwright.network.samples import STEP_M, Samples

SAME_LINE_COS = 0.75
"""Headings closer than 41 degrees, either way round, may be the same trail."""
ABREAST_M = 0.7 * STEP_M
"""Half a step and a margin: each pass shows about one sample abreast of any place."""
OWN_GAP_M = 25.0
"""Samples of one ride closer than this along it are the same pass, not another."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pairs:
    """Directed pairs, sorted by ``i``: sample ``j`` lies abreast of sample ``i``.

    ``own`` tells pairs within one ride, ``same`` those headed the same way.
    """

    i: Ints
    j: Ints
    own: np.ndarray[tuple[int], np.dtype[np.bool_]]

    def __len__(self) -> int:
        """Count the pairs."""
        return len(self.i)


def abreast(samples: Samples, xy: Floats, head: Floats, *, reach_m: float) -> Pairs:
    """Find all pairs within ``reach_m`` across, at positions ``xy`` and headings ``head``."""
    tree = cKDTree(xy)
    found = tree.query_pairs(float(np.hypot(reach_m, ABREAST_M)), output_type="ndarray")
    a, b = found[:, 0], found[:, 1]
    keep = _alike(xy, head, a, b, reach_m) & ~_same_pass(samples, head, a, b)
    a, b = a[keep], b[keep]
    i, j = np.concatenate((a, b)), np.concatenate((b, a))
    order = np.lexsort((j, i))
    i, j = i[order].astype(np.int32), j[order].astype(np.int32)
    return Pairs(i=i, j=j, own=samples.ride[i] == samples.ride[j])


def _alike(xy: Floats, head: Floats, a: Ints, b: Ints, reach_m: float) -> np.ndarray:
    gap = xy[b] - xy[a]
    cos = (head[a] * head[b]).sum(axis=1)
    middle = head[a] + head[b] * np.where(cos < 0, -1.0, 1.0)[:, None]
    middle /= np.maximum(np.hypot(middle[:, 0], middle[:, 1]), 1e-9)[:, None]
    forth = np.abs((gap * middle).sum(axis=1))
    across = np.abs(gap[:, 1] * middle[:, 0] - gap[:, 0] * middle[:, 1])
    return (np.abs(cos) > SAME_LINE_COS) & (forth <= ABREAST_M) & (across <= reach_m)


def _same_pass(samples: Samples, head: Floats, a: Ints, b: Ints) -> np.ndarray:
    near = np.abs(samples.dist[a] - samples.dist[b]) < OWN_GAP_M
    onward = (head[a] * head[b]).sum(axis=1) > 0
    return (samples.piece[a] == samples.piece[b]) & near & onward


def across_m(xy: Floats, head: Floats, pairs: Pairs) -> Floats:
    """Signed offset ``(k,)`` of each ``j`` to the left of ``i``, metres."""
    gap = xy[pairs.j] - xy[pairs.i]
    way = head[pairs.i]
    return np.asarray(gap[:, 1] * way[:, 0] - gap[:, 0] * way[:, 1])
