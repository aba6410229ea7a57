"""Which samples lie beside which.

Gets sample positions and headings; gives pairs of samples of different passes that lie abreast:
near in the direction of travel, within reach across it, headed the same or the opposite way. Rows
of a table are taken by ``take``: an index in brackets needs six times as long.
"""

from __future__ import annotations

import numpy as np

from loopwright.geo.planar import dots
from loopwright.model.arrays import Floats
from loopwright.network.plots import Block, Pairs, near
from loopwright.network.rows import Bools, Rows
from loopwright.network.samples import STEP_M, Samples

SAME_LINE_COS = 0.75
"""Headings closer than 41 degrees, either way round, may be the same trail."""
ABREAST_M = 0.7 * STEP_M
"""Half a step and a margin: each pass shows about one sample abreast of any place."""
OWN_GAP_M = 25.0
"""Samples of one ride closer than this along it are the same pass, not another."""


def abreast(
    samples: Samples, xy: Floats, head: Floats, *, reach_m: float, lanes: Bools | None = None
) -> Pairs:
    """Find all pairs within ``reach_m`` across, at positions ``xy`` and headings ``head``.

    Samples that ``lanes`` ``(n,)`` marks are paired with those that go the same way only.
    """

    def fits(i: Rows, j: Rows) -> tuple[Bools, Bools]:
        good = _alike(samples, xy, head, i, j, reach_m=reach_m, lanes=lanes)
        return good, good

    return near(xy, float(np.hypot(reach_m, ABREAST_M)), fits)


def _alike(
    samples: Samples,
    xy: Floats,
    head: Floats,
    a: Rows,
    b: Rows,
    *,
    reach_m: float,
    lanes: Bools | None,
) -> Bools:
    one, two = head.take(a, axis=0), head.take(b, axis=0)
    cos = dots(one, two)
    gap = xy.take(b, axis=0) - xy.take(a, axis=0)
    sign = np.where(cos < 0, -1.0, 1.0)
    x, y = one[:, 0] + sign * two[:, 0], one[:, 1] + sign * two[:, 1]
    # The sum of two unit vectors has length sqrt(2 + 2 |cos|).
    size = np.sqrt(2.0 + 2.0 * np.abs(cos))
    forth = np.abs(gap[:, 0] * x + gap[:, 1] * y)
    across = np.abs(gap[:, 1] * x - gap[:, 0] * y)
    good = (np.abs(cos) > SAME_LINE_COS) & (forth <= ABREAST_M * size) & (across <= reach_m * size)
    if lanes is not None:
        good &= (cos > 0) | ~(lanes[a] | lanes[b])
    near_m = np.abs(samples.dist[a] - samples.dist[b]) < OWN_GAP_M
    return np.asarray(good & ~((samples.piece[a] == samples.piece[b]) & near_m & (cos > 0)))


def across_m(xy: Floats, head: Floats, block: Block) -> Floats:
    """Signed offset ``(k,)`` of each ``j`` to the left of ``i``, metres."""
    gap = xy.take(block.j, axis=0) - xy.take(block.i, axis=0)
    way = head.take(block.i, axis=0)
    return np.asarray(gap[:, 1] * way[:, 0] - gap[:, 0] * way[:, 1])


def headed_alike(head: Floats, block: Block) -> Bools:
    """Tell of each pair ``(k,)`` whether both go the same way, more or less."""
    return np.asarray(dots(head.take(block.i, axis=0), head.take(block.j, axis=0)) > 0)
