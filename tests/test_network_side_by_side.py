"""Lines beside each other stay two although every ride strays by half their distance."""

from __future__ import annotations

import numpy as np
import pytest

from loopwright.geo.polyline import along
from loopwright.invented.lines import beside, wiggle
from loopwright.invented.marbles import forks
from loopwright.invented.park import OPEN_OCEAN
from loopwright.invented.receiver import Receiver, misplace
from loopwright.model.arrays import Floats
from loopwright.network import build_network
from network_help import cleaned, recorded

PACE_MPS = 5.5
FROM_M, LEAD_M = 450.0, 20.0


def trails(gap_m: float, run_m: float) -> tuple[Floats, Floats, Floats]:
    """A winding line, the same by way of a second line beside it, and the two forks ``(2, 2)``."""
    rng = np.random.default_rng(4)
    a_line = wiggle(rng, np.array([-650.0, 0.0]), np.array([650.0, 0.0]), scale=0.7)
    to_m = FROM_M + run_m + 2 * LEAD_M
    second = beside(a_line, from_m=FROM_M, to_m=to_m, gap_m=gap_m, lead_m=LEAD_M)
    run = along(a_line)
    b_line = np.vstack((a_line[run < FROM_M], second, a_line[run > to_m]))
    return a_line, b_line, second[[0, -1]]


def seen(line: Floats, *, seed: int) -> Floats:
    """``line`` ridden steadily, a point a second, with 5 m of error an axis."""
    time = np.arange(0.0, along(line)[-1] / PACE_MPS)
    true = np.column_stack([np.interp(time * PACE_MPS, along(line), line[:, k]) for k in (0, 1)])
    return misplace(np.random.default_rng(seed), true, time, Receiver(error_m=5.0))


@pytest.mark.parametrize(("gap_m", "run_m"), [(10.0, 90.0), (13.0, 150.0)])
def test_lines_two_errors_apart_fork_where_they_do(gap_m: float, run_m: float) -> None:
    a_line, b_line, want = trails(gap_m, run_m)
    right = 0
    for seed in range(5):
        rides = [
            recorded(seen((a_line, b_line)[k % 2], seed=100 * seed + k), start=1.9e9 + 90_000.0 * k)
            for k in range(14)
        ]
        have = forks(build_network(cleaned(rides), OPEN_OCEAN))
        gaps = np.hypot(*(have[:, None] - want[None]).transpose(2, 0, 1))
        right += len(have) == 2 and bool((gaps.min(axis=0) < 20.0).all())
    assert right >= 4
