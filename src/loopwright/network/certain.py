"""How sure each vertex is.

Gets the fitted lines and the rides' recorded positions (before alignment); gives the standard
error across the trail. Errors all rides share stay invisible: it is the spread of the rides.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from loopwright.geo.planar import dots
from loopwright.model.arrays import Floats
from loopwright.network.passes import LAP_SHARE
from loopwright.network.refit import PRIOR_PASSES, TOGETHER, tents
from loopwright.network.rows import Rows, parts
from loopwright.network.samples import Samples
from loopwright.network.stations import Abreast, Stations


def std_error_m(table: Stations, near: Abreast, samples: Samples, sigma: Floats) -> Floats:
    """Give the standard error ``(stations,)`` in metres.

    ``s^2 = (6 sigma^2 + sum d^2) / (6 + n - 1)`` and ``s / sqrt(n)``: the spread seen here, held
    to the spread of all rides where passes are few. ``n`` counts rides, further laps for less.
    """
    passes, square, prior, rides = np.zeros((4, len(table)))
    left = table.left
    for station, tent, row in _by_rides(table, near, samples):
        off = dots(samples.xy[row] - table.xyz[station, :2], left[station])
        passes += np.bincount(station, tent, len(table))
        most = np.minimum(off**2, 9 * sigma[row] ** 2)
        square += np.bincount(station, tent * most, len(table))
        prior += np.bincount(station, tent * sigma[row] ** 2, len(table))
        rides += _rides(station, tent, samples.ride[row], len(table))
    count = np.maximum(rides + LAP_SHARE * np.maximum(passes - rides, 0.0), 0.5)
    middle = float(np.median(sigma)) if len(sigma) else 3.0
    prior = np.where(passes > 0, prior / np.maximum(passes, 1e-9), middle**2)
    spread = (PRIOR_PASSES * prior + square) / np.maximum(PRIOR_PASSES + passes - 1, 1.0)
    return np.sqrt(spread / count)


def _by_rides(
    table: Stations, near: Abreast, samples: Samples
) -> Iterator[tuple[Rows, Floats, Rows]]:
    """Spread the samples over stations, some whole rides at a time."""
    edges = np.concatenate(([0], np.flatnonzero(np.diff(samples.ride)) + 1, [len(samples)]))
    for a, b in parts(edges, TOGETHER):
        yield tents(table, near, int(edges[a]), int(edges[b]))


def _rides(station: Rows, tent: Floats, ride: Rows, size: int) -> Floats:
    """Count different rides at each station; part passes count in part, none beyond one."""
    span = int(ride.max(initial=0)) + 1
    key, group = np.unique(station.astype(np.int64) * span + ride, return_inverse=True)
    share = np.minimum(np.bincount(group, tent, len(key)), 1.0)
    return np.asarray(np.bincount((key // span).astype(np.int64), share, size), dtype=np.float64)
