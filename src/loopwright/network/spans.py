"""What two trails in one corridor look like.

Gives the shape in which a trail leaves another and comes back, and how far one ride's errors at
different places agree.
"""

from __future__ import annotations

import numpy as np

from loopwright.model.arrays import Floats
from loopwright.network.corridors import Corridor
from loopwright.network.rows import Rows

STEADY = 0.25
"""Share of a ride's error variance that stays all ride long; the rest fades."""
FRESH = 0.02
"""Share added for what is new at every place."""
LEAD_M = 20.0
"""Riding over which one trail leaves another: a fork's angle takes it to 8 to 13 m."""
LENGTHS_M = (
    60.0, 80.0, 100.0, 125.0, 155.0, 190.0, 230.0, 280.0, 350.0, 440.0, 550.0, 700.0,
)  # fmt: skip
"""Lengths tried. Up to 280 m alone, two lines 700 m long and 11 m apart, each ridden eight times
with 5 m of error, were laid on each other for most of their length."""
FLANK_M = 15.0
"""The common trail must be seen so far on both sides."""


def profile(dist: Floats, from_m: Floats, to_m: Floats) -> Floats:
    """How far out of its gap a trail is at ``dist``: 0 at both forks, 1 where lines run abreast."""
    room = np.minimum(dist - from_m, to_m - dist) / LEAD_M
    return np.asarray(np.sin(np.pi / 2 * np.clip(room, 0.0, 1.0)))


def agreement(corridor: Corridor, rows: Rows) -> Floats:
    """How far the errors of one ride at different places agree ``(n, n)``, across the corridor.

    An error is a shift over the ground: round a bend it points another way across the trail.
    """
    dist, left = corridor.dist[rows], corridor.left[rows]
    apart = np.abs(dist[:, None] - dist[None])
    alike = STEADY + (1.0 - STEADY) * np.exp(-apart / corridor.fade_m)
    return np.asarray(alike * (left @ left.T) + FRESH * np.eye(len(rows)))
