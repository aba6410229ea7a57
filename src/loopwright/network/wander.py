"""How far rides stray aside within a short run of their riding.

Gets samples, aligned samples and a web; gives one figure: by how many metres a ride's error over
some 35 m differs from what the same ride's error before and after tells. A receiver on a fast rider
errs by the same metres all along a trail; on a slow one its error comes and goes within the length
of a trail. Lines side by side are told by this figure, not by the error itself.
"""

from __future__ import annotations

import numpy as np

from loopwright.geo.planar import dots, left_of
from loopwright.model.arrays import Floats
from loopwright.network.attract import Aligned
from loopwright.network.rows import Rows
from loopwright.network.samples import Samples
from loopwright.network.stations import abreast_of, stations_of
from loopwright.network.web import Web

REACH_M = 8.0
EVERY = 4
"""Only each fourth sample (20 m) is looked at: errors change no faster."""
INSIDE, NEAR, FAR = 3, 9, 24
"""Samples either way that make the middle, and from where to where before and after are looked at:
15 m, and 45 to 120 m."""
KNOWN = 0.95
"""Share of the samples around that must lie on a line."""
FEW = 50
"""Fewer places than this tell nothing."""
WANDERS_M = (1.7, 2.0)
"""Wandering of usual receivers and of those that swing far: rides at 5 m of error
show 1.6 m, somebody on foot with 3 to 6 m and shade 2.0 to 2.3 m."""


def wander_m(
    web: Web, samples: Samples, aligned: Aligned, ele: Floats, *, unknown_m: float
) -> float:
    """Measure the wandering in metres; ``unknown_m`` where too little is ridden to tell."""
    table = stations_of([web.lines[k].xyz for k in sorted(web.lines)])
    near = abreast_of(table, aligned.xy, aligned.head, ele, reach_m=REACH_M)
    seen = near.station >= 0
    foot = table.xyz[near.station, :2] + table.tangent[near.station] * near.forth[:, None]
    off = np.where(seen[:, None], samples.xy - foot, 0.0)
    total, count = _summed(off), np.concatenate(([0], np.cumsum(seen)))
    rows = _rows(samples)
    rows = rows[count[rows + FAR + 1] - count[rows - FAR] >= KNOWN * (2 * FAR + 1)]

    def mean(low: Rows, high: Rows) -> Floats:
        some = np.maximum(count[high] - count[low], 1)
        return np.asarray((total[high] - total[low]) / some[:, None])

    around = mean(rows - FAR, rows - NEAR + 1) + mean(rows + NEAR, rows + FAR + 1)
    away = mean(rows - INSIDE, rows + INSIDE + 1) - around / 2
    across = np.abs(dots(away, left_of(aligned.head[rows])))
    return float(np.median(across)) / 0.6745 if len(rows) >= FEW else unknown_m


def _summed(off: Floats) -> Floats:
    return np.vstack((np.zeros(2), np.cumsum(off, axis=0)))


def _rows(samples: Samples) -> Rows:
    """Rows with riding enough before and after in their piece."""
    rows = np.arange(0, len(samples), EVERY)
    piece = samples.piece[rows]
    good = (rows - FAR >= samples.first[piece]) & (rows + FAR < samples.first[piece + 1])
    return rows[good]
