"""Which stretches run so close beside each other that riders would meet head-on.

Gets a terrain and a distance; gives pairs of arcs for ``Further.apart``. Promises: the pairs are
the same for the same ground; two stretches that merely share a junction are none.
"""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from loopwright.geo.polyline import headings, resample
from loopwright.loops.further import Pairs
from loopwright.model.ground import Terrain
from loopwright.model.ids import Arc, StretchId, Way

STEP_M = 10.0
ALONG_M = 30.0
"""Two stretches must run side by side this far to count; less is how any two meet at a junction."""
ALIGNED = 0.7
"""Cosine of the angle up to which two directions count as the same: 45 degrees."""

Ints: TypeAlias = NDArray[np.int_]


def head_on_pairs(terrain: Terrain, *, within_m: float) -> Pairs:
    """List arcs that would lead riders past each other head-on within ``within_m`` metres.

    Two stretches that run side by side for 30 m or more, nearer than ``within_m``, are not to be
    ridden in opposite directions in one lap. The same stretch both ways is never allowed anyway.
    An empty terrain gives none.
    """
    lines = [resample(s.xy, STEP_M) for s in terrain.network.stretches]
    if not lines:
        return frozenset()
    owner = np.repeat(np.arange(len(lines)), [len(line) for line in lines])
    turned = np.concatenate([headings(line) for line in lines])
    near = cKDTree(np.vstack(lines)).query_pairs(within_m, output_type="ndarray")
    near = near[owner[near[:, 0]] != owner[near[:, 1]]]
    cosine = np.cos(turned[near[:, 0]] - turned[near[:, 1]])
    names = [s.id for s in terrain.network.stretches]
    same = _side_by_side(near[cosine > ALIGNED], owner)
    opposed = _side_by_side(near[cosine < -ALIGNED], owner)
    found = {pair for i, j in same for pair in _arcs(names[i], names[j], alike=False)}
    found |= {pair for i, j in opposed for pair in _arcs(names[i], names[j], alike=True)}
    return frozenset(found)


def _side_by_side(near: Ints, owner: Ints) -> list[tuple[int, int]]:
    """List stretches with enough points of the one beside the other."""
    sides = np.column_stack((owner[near[:, 0]], owner[near[:, 1]], near[:, 0]))
    pairs = np.unique(sides, axis=0)[:, :2]
    which, count = np.unique(pairs, axis=0, return_counts=True)
    return [
        (int(i), int(j)) for (i, j), n in zip(which, count, strict=True) if n * STEP_M >= ALONG_M
    ]


def _arcs(one: StretchId, other: StretchId, *, alike: bool) -> list[tuple[Arc, Arc]]:
    """Pair each way of one with the same way of the other, or the opposite."""
    return [((one, way), (other, way if alike else way.other)) for way in Way]
