"""Runs of stations at which something holds.

Gets flat arrays; gives index pairs, first and last station of each run, both inclusive.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from loopwright.model.arrays import Floats

Run = tuple[int, int]
SLACK = 1e-6
"""What lies at a limit counts, whichever way it is rounded: the way back finds the same."""


def runs_of(holds: NDArray[np.bool_]) -> list[Run]:
    """First and last index of every run of True in ``holds`` ``(n,)``."""
    edges = np.diff(np.concatenate(([0], holds.astype(np.int8), [0])))
    firsts, ends = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)
    return [(int(a), int(b) - 1) for a, b in zip(firsts, ends, strict=True)]


def bridged(runs: list[Run], dist_m: Floats, *, gap_m: float) -> list[Run]:
    """Join runs of stations at ``dist_m`` that lie no more than ``gap_m`` apart."""
    joined: list[Run] = []
    for first, last in runs:
        if joined and dist_m[first] - dist_m[joined[-1][1]] <= gap_m + SLACK:
            joined[-1] = (joined[-1][0], last)
        else:
            joined.append((first, last))
    return joined
