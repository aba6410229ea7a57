"""How sure each vertex is.

Gets the fitted lines and the rides' recorded positions (before alignment); gives the standard
error across the trail. Errors all rides share stay invisible: it is the spread of the rides.
"""

from __future__ import annotations

import numpy as np

from loopwright.model.arrays import Floats
from loopwright.network.passes import LAP_SHARE
from loopwright.network.refit import PRIOR_PASSES, tents
from loopwright.network.rows import Rows
from loopwright.network.samples import Samples
from loopwright.network.stations import Abreast, Stations


def std_error_m(table: Stations, near: Abreast, samples: Samples, sigma: Floats) -> Floats:
    """Give the standard error ``(stations,)`` in metres.

    ``s^2 = (6 sigma^2 + sum d^2) / (6 + n - 1)`` and ``s / sqrt(n)``: the spread seen here, held
    to the spread of all rides where passes are few. ``n`` counts rides, further laps for less.
    """
    station, tent, row = tents(table, near)
    size = len(table)
    left = table.left[station]
    off = ((samples.xy[row] - table.xyz[station, :2]) * left).sum(axis=1)
    passes = np.bincount(station, tent, size)
    square = np.bincount(station, tent * np.minimum(off**2, 9 * sigma[row] ** 2), size)
    prior = np.bincount(station, tent * sigma[row] ** 2, size) / np.maximum(passes, 1e-9)
    rides = _rides(station, tent, samples.ride[row], size)
    count = np.maximum(rides + LAP_SHARE * np.maximum(passes - rides, 0.0), 0.5)
    known = passes > 0
    middle = float(np.median(sigma)) if len(sigma) else 3.0
    prior = np.where(known, prior, middle**2)
    spread = (PRIOR_PASSES * prior + square) / np.maximum(PRIOR_PASSES + passes - 1, 1.0)
    return np.sqrt(spread / count)


def _rides(station: Rows, tent: Floats, ride: Rows, size: int) -> Floats:
    """Count different rides at each station; part passes count in part, none beyond one."""
    span = int(ride.max(initial=0)) + 1
    key, group = np.unique(station.astype(np.int64) * span + ride, return_inverse=True)
    share = np.minimum(np.bincount(group, tent, len(key)), 1.0)
    return np.asarray(np.bincount((key // span).astype(np.int64), share, size), dtype=np.float64)
