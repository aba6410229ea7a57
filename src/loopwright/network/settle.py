"""Shift rides onto finished lines.

Gets samples and the stations of a network; gives the samples' places after taking out each
ride's slow error against the lines, long windows first. Costs the same for every sample, however
many rides there are.
"""

from __future__ import annotations

import numpy as np

from loopwright.geo.planar import dots
from loopwright.model.arrays import Floats
from loopwright.network.attract import Aligned, headings, windowed
from loopwright.network.samples import Samples
from loopwright.network.stations import Abreast, Stations, abreast_of

ROUNDS = ((50, 20.0, 8.0), (24, 12.0, 4.0), (12, 9.0, 3.0))
"""Half window in samples, reach and kernel in metres."""


def settled(samples: Samples, table: Stations) -> tuple[Aligned, Abreast, Floats]:
    """Shift ``samples`` onto ``table``; also gives the station each lies abreast of.

    Last come the places ``(n, 2)`` with only each ride's slowest error taken out: shorter windows
    lay a part that swings aside onto the line.
    """
    xy, head, slow = samples.xy, samples.head, samples.xy
    nowhere = np.full(len(samples), np.nan)
    for half, reach_m, kernel_m in ROUNDS:
        near = abreast_of(table, xy, head, nowhere, reach_m=reach_m)
        xy = xy + _shift(samples, head, table, near, half=half, kernel_m=kernel_m)
        slow = xy if half == ROUNDS[0][0] else slow
        head = headings(xy, samples.first)
    near = abreast_of(table, xy, head, nowhere, reach_m=ROUNDS[-1][1])
    return Aligned(xy=xy, head=head), near, slow


def _shift(
    samples: Samples, head: Floats, table: Stations, near: Abreast, *, half: int, kernel_m: float
) -> Floats:
    found = near.station >= 0
    # Offsets are to the left of the line; the ride may run the other way.
    onward = np.where(dots(table.tangent[near.station], head) < 0, -1.0, 1.0)
    wanted = np.where(found, -near.across * onward, 0.0)
    trust = np.where(found, np.exp(-0.5 * (wanted / kernel_m) ** 2), 0.0)
    return windowed(wanted, 3.0 * trust, head, samples.first, half=half)
