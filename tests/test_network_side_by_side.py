"""Lines beside each other stay two although every ride strays by half their distance."""

from __future__ import annotations

import pytest

from loopwright.invented.park import OPEN_OCEAN
from loopwright.network import build_network
from side_by_side_help import LEAD_M, forks_at, ridden, trails

FROM_M = 450.0


@pytest.mark.parametrize(("gap_m", "run_m"), [(10.0, 90.0), (13.0, 150.0)])
def test_lines_two_errors_apart_fork_where_they_do(gap_m: float, run_m: float) -> None:
    to_m = FROM_M + run_m + 2 * LEAD_M
    a_line, b_line, want = trails(half_m=650.0, from_m=FROM_M, to_m=to_m, gap_m=gap_m)
    right = 0
    for seed in range(5):
        tracks = ridden([a_line, b_line] * 7, seed=100 * seed)
        right += forks_at(build_network(tracks, OPEN_OCEAN), want, within_m=20.0)
    assert right >= 4
