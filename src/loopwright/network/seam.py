"""Where a ring begins that nothing branches from.

Gets the ring and where rides started; gives the vertex where most of them did, since laps are
counted from there. A piece of a ride after a gap is no start.
"""

from __future__ import annotations

import numpy as np
from scipy.spatial import cKDTree

from loopwright.geo.polyline import along
from loopwright.model.arrays import Floats
from loopwright.network.rows import Bools, firsts
from loopwright.network.samples import Samples

START_M = 30.0
"""A ride that starts no further off starts on the ring; starts no further apart are one place."""


def starts_in(samples: Samples, chosen: Bools) -> Floats:
    """Places ``(k, 2)`` where rides start, of the rides ``chosen`` to shape the lines there."""
    first = firsts(samples.ride)
    return samples.xy[first[chosen[first]]]


def seam_row(ring: Floats, starts: Floats) -> int:
    """Vertex of a closed ``ring`` ``(n, 2)`` where most rides start; the western one if none do."""
    gap, row = cKDTree(ring[:-1]).query(starts.reshape(-1, 2))
    rows = np.asarray(row)[np.asarray(gap) <= START_M]
    if len(rows) == 0:
        return int(ring[:-1, 0].argmin())
    run = along(ring)
    around = run[-1]
    apart = (run[rows][None, :] - run[rows][:, None] + around / 2) % around - around / 2
    near = np.abs(apart) <= START_M
    best = int(near.sum(axis=1).argmax())
    want = (run[rows[best]] + apart[best, near[best]].mean()) % around
    return int(np.abs(run[:-1] - want).argmin())
