"""Help for the tests of lines beside each other: a trail, another beside it, rides over both."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from loopwright.geo.polyline import along
from loopwright.invented.lines import beside, wiggle
from loopwright.invented.marbles import forks
from loopwright.invented.receiver import Receiver, misplace
from loopwright.model.arrays import Floats
from loopwright.model.network import Network
from loopwright.model.track import CleanTrack
from network_help import cleaned, recorded

PACE_MPS = 5.5
LEAD_M = 20.0
ERROR_M = 5.0


def trails(
    *, half_m: float, from_m: float, to_m: float, gap_m: float
) -> tuple[Floats, Floats, Floats]:
    """A winding line, the same by way of a second line beside it, and the two forks ``(2, 2)``.

    The second line parts from the first, ``2 * half_m`` from end to end, between two places along.
    """
    rng = np.random.default_rng(4)
    first = wiggle(rng, np.array([-half_m, 0.0]), np.array([half_m, 0.0]), scale=0.7)
    second = beside(first, from_m=from_m, to_m=to_m, gap_m=gap_m, lead_m=LEAD_M)
    run = along(first)
    other = np.vstack((first[run < from_m], second, first[run > to_m]))
    return first, other, second[[0, -1]]


def ridden(lines: Sequence[Floats], *, seed: int = 0) -> tuple[CleanTrack, ...]:
    """Ride each line once, steadily, a point a second, with 5 m of error an axis."""
    return cleaned(
        recorded(_seen(line, seed=seed + k), start=1.9e9 + 90_000.0 * k)
        for k, line in enumerate(lines)
    )


def _seen(line: Floats, *, seed: int) -> Floats:
    time = np.arange(0.0, along(line)[-1] / PACE_MPS)
    true = np.column_stack([np.interp(time * PACE_MPS, along(line), line[:, k]) for k in (0, 1)])
    return misplace(np.random.default_rng(seed), true, time, Receiver(error_m=ERROR_M))


def forks_at(network: Network, want: Floats, *, within_m: float) -> bool:
    """Tell whether a network has as many forks as wanted ``(k, 2)``, and one near each."""
    have = forks(network)
    if len(have) != len(want):
        return False
    gaps = np.hypot(*(have[:, None] - want[None]).transpose(2, 0, 1))
    return bool((gaps.min(axis=0) < within_m).all())
