"""Lines that leave a junction side by side are laid on one; hairpin legs stay."""

from __future__ import annotations

import numpy as np
import pytest

from loopwright.network.web import Web
from loopwright.network.zips import zip_up
from network_help import ridden
from test_network_repair import even, web_of

Ride = tuple[tuple[float, float], ...]
WEST, EAST, UP = (-150.0, 0.0), (150.0, 0.0), (130.0, 90.0)
TRAIL: Ride = (WEST, (0.0, 0.0), EAST)


def beside(gap_m: float, run_m: float) -> Web:
    """A trail, and a line that runs beside it for a while before it goes off."""
    web = web_of(
        (0, 1, even((0.0, 0.0), WEST)), (0, 2, even((0.0, 0.0), EAST)),
        (0, 3, even((0.0, 0.0), (gap_m, gap_m), (run_m, gap_m), UP)),
    )  # fmt: skip
    web.lines[2].passes = 1.0
    return web


def zipped(web: Web, *rides: Ride) -> int:
    """How many lines are laid on others when ``rides`` are ridden, each on a day of its own."""
    return zip_up(web, *ridden(*(even(*ride)[:, :2] for ride in rides), ele=50.0))


@pytest.mark.parametrize("run_m", [20.0, 45.0])
def test_a_line_leaves_where_it_parts(run_m: float) -> None:
    web = beside(4.0, run_m)
    assert zipped(web, TRAIL, (WEST, (0.0, 0.0), (run_m, 4.0), UP)) == 1
    (fork,) = (web.nodes[node] for node in web.nodes if web.degree(node) > 2)
    assert fork[:2] == pytest.approx((run_m, 0.0), abs=6.0)
    (branch,) = (line for line in web.lines.values() if tuple(line.xyz[-1, :2]) == UP)
    assert branch.passes == 1.0


@pytest.mark.parametrize(("gap_m", "run_m"), [(9.0, 45.0), (4.0, 5.0)])
def test_lines_that_part_at_once_or_run_apart_stay(gap_m: float, run_m: float) -> None:
    assert zipped(beside(gap_m, run_m), TRAIL) == 0


def test_lines_beside_each_other_all_the_way_are_told_by_others() -> None:
    assert zipped(beside(4.0, 100.0), TRAIL) == 0


def test_lines_told_apart_by_their_passes_stay() -> None:
    web = beside(4.0, 45.0)
    web.lines[2].parted = True
    assert zipped(web, TRAIL) == 0


def test_hairpin_legs_stay() -> None:
    """Every ride takes one leg and then the other."""
    web = beside(5.0, 45.0)
    legs: Ride = (EAST, (0.0, 0.0), (5.0, 5.0), (45.0, 5.0), UP)
    assert zipped(web, legs, legs) == 0
    assert zipped(beside(5.0, 45.0), legs, TRAIL, TRAIL, (WEST, (5.0, 5.0), (45.0, 5.0), UP)) == 1


def test_a_line_zipped_at_one_end_is_not_at_the_other_before_it_is_looked_at_again() -> None:
    """Two lines that run beside each other at both of their ends."""
    bow = even((0.0, 0.0), (4.0, 4.0), (40.0, 4.0), (100.0, 60.0), (160.0, 4.0), (196.0, 4.0),
               (200.0, 0.0))  # fmt: skip
    web = web_of(
        (0, 1, even((0.0, 0.0), (200.0, 0.0))), (0, 1, bow), (0, 2, even((0.0, 0.0), WEST)),
        (1, 3, even((200.0, 0.0), (350.0, 0.0))),
    )  # fmt: skip
    straight: Ride = (WEST, (350.0, 0.0))
    assert zipped(web, straight) == 1
    assert zipped(web, straight) == 1
    assert zipped(web, straight) == 0


def test_a_ring_at_a_node_is_no_pair() -> None:
    ring = even((0.0, 0.0), (40.0, 3.0), (80.0, 40.0), (40.0, -3.0), (0.0, 0.0))
    web = web_of((0, 1, even((0.0, 0.0), WEST)), (0, 0, ring))
    assert zipped(web, TRAIL) == 0
    assert np.isfinite(web.nodes[0]).all()
