"""Forks are moved to where rides part or hooks point, and stay where neither tells anything."""

from __future__ import annotations

import numpy as np
import pytest

from loopwright.model.arrays import Floats
from loopwright.network.forks import move_forks
from loopwright.network.web import Web
from network_help import ridden
from test_network_repair import even, web_of

WEST, EAST, UP = (-150.0, 0.0), (150.0, 0.0), (100.0, 100.0)


def hooked(at_m: float, *hook: tuple[float, float]) -> Web:
    """A trail from west to east, and a branch that leaves it ``at_m`` for the north-east."""
    fork = (at_m, 0.0)
    return web_of(
        (0, 1, even(fork, WEST)), (0, 2, even(fork, EAST)), (0, 3, even(fork, *hook, UP))
    )  # fmt: skip


def moved(web: Web, *rides: tuple[tuple[float, float], ...]) -> int:
    """How many forks are moved when ``rides`` are ridden, each on a day of its own."""
    return move_forks(web, *ridden(*(even(*ride)[:, :2] for ride in rides), ele=50.0))


def fork_of(web: Web) -> Floats:
    """The place of the only node that branches."""
    (node,) = (node for node in web.nodes if web.degree(node) > 2)
    return np.asarray(web.nodes[node][:2])


@pytest.mark.parametrize("ride", [(WEST, (0.0, 0.0), UP), (UP, (0.0, 0.0), WEST)])
@pytest.mark.parametrize("off_m", [30.0, -24.0])
def test_a_fork_goes_to_where_a_ride_parts_from_the_trail(
    off_m: float, ride: tuple[tuple[float, float], ...]
) -> None:
    web = hooked(off_m, (14.0, 14.0))
    assert moved(web, ride, ride, ride) == 1
    assert fork_of(web) == pytest.approx((0.0, 0.0), abs=5.0)
    ends = sorted(
        tuple(web.nodes[node][:2].tolist()) for node in web.nodes if web.degree(node) == 1
    )
    assert ends == [WEST, UP, EAST]


def test_the_hook_is_left_out() -> None:
    web = hooked(30.0, (14.0, 14.0))
    moved(web, *[(WEST, (0.0, 0.0), UP)] * 3)
    (branch,) = (line for line in web.lines.values() if tuple(line.xyz[-1, :2]) == UP)
    assert branch.length_m == pytest.approx(np.hypot(*UP), abs=3.0)


@pytest.mark.parametrize("off_m", [0.0, 5.0, 60.0])
def test_forks_off_by_little_or_too_much_stay(off_m: float) -> None:
    web = hooked(off_m, (14.0, 14.0))
    assert moved(web, (WEST, (0.0, 0.0), UP)) == 0
    assert fork_of(web) == pytest.approx((off_m, 0.0))


@pytest.mark.parametrize(
    "ride",
    [
        (WEST, EAST),  # nobody changes over
        (EAST, (30.0, 0.0), (38.0, 11.4)),  # stops before he is clear of the trail
        (UP, (34.0, 5.5), (80.0, 5.5)),  # never gets to it
    ],
)
def test_rides_that_do_not_tell_where_they_part_move_nothing(
    ride: tuple[tuple[float, float], ...],
) -> None:
    assert moved(hooked(30.0), ride) == 0


@pytest.mark.parametrize("rides", [1, 2, 3])
@pytest.mark.parametrize("off_m", [16.0, -20.0])
def test_where_few_part_a_fork_goes_to_where_its_branch_would_meet_the_trail(
    off_m: float, rides: int
) -> None:
    hook, north = (0.0, 8.0), (0.0, 120.0)
    web = web_of(
        (0, 1, even((off_m, 0.0), WEST)), (0, 2, even((off_m, 0.0), EAST)),
        (0, 3, even((off_m, 0.0), hook, north)),
    )  # fmt: skip
    assert moved(web, *[(WEST, (off_m, 0.0), hook, north)] * rides) == (rides < 3)
    assert fork_of(web) == pytest.approx((0.0 if rides < 3 else off_m, 0.0), abs=4.0)


@pytest.mark.parametrize("often", [6, 3])
def test_the_trail_goes_on_where_most_ride(often: int) -> None:
    """Where a trail turns, no two lines go straight on: what few ride is the branch."""
    turn, hook, east, north = (0.0, 0.0), (-6.0, 20.0), (150.0, 20.0), (26.0, 148.0)
    web = web_of(
        (0, 1, even(turn, WEST)), (0, 2, even(turn, north)), (0, 3, even(turn, hook, east))
    )  # fmt: skip
    rides = [(WEST, turn, north)] * often + [(WEST, turn, hook, east)] * 2
    assert moved(web, *rides) == (often > 3)
    assert fork_of(web) == pytest.approx((3.5, 20.0) if often > 3 else turn, abs=5.0)


def test_most_rides_tell() -> None:
    web = hooked(30.0, (14.0, 14.0))
    there, astray = (WEST, (0.0, 0.0), UP), (WEST, (30.0, 0.0), UP)
    assert moved(web, there, astray, there) == 1
    assert fork_of(web) == pytest.approx((0.0, 0.0), abs=5.0)


def test_trails_told_apart_by_their_passes_part_where_those_say() -> None:
    web = hooked(30.0, (14.0, 14.0))
    web.lines[2].parted = True
    assert moved(web, (WEST, (0.0, 0.0), UP)) == 0


@pytest.mark.parametrize("at_m", [2.6, -2.0])
def test_no_fork_is_moved_to_where_a_trail_ends(at_m: float) -> None:
    web = web_of(
        (0, 1, even((30.0, 0.0), (2.0, 0.0))), (0, 2, even((30.0, 0.0), EAST)),
        (0, 3, even((30.0, 0.0), (8.0, 12.0), (8.0, 40.0), UP)), (1, 4, even((2.0, 0.0), WEST)),
    )  # fmt: skip
    assert moved(web, (EAST, (at_m, 0.0), (at_m, 6.0), (8.0, 12.0), (8.0, 40.0), UP)) == 0


def test_both_branches_of_a_crossing_are_moved() -> None:
    down = (100.0, -100.0)
    web = hooked(30.0, (14.0, 14.0))
    web.add_node(4, np.array([*down, 100.0]))
    web.add_line(0, 4, even((30.0, 0.0), (14.0, -14.0), down))
    rides = [(WEST, (0.0, 0.0), UP), (WEST, (0.0, 0.0), down)]
    assert moved(web, *rides * 3) >= 1
    forks = [web.nodes[node][:2] for node in web.nodes if web.degree(node) > 2]
    assert min(float(np.hypot(*place)) for place in forks) < 5.0


@pytest.mark.parametrize(("off_m", "gone"), [(3.0, True), (10.0, False)])
def test_what_leaves_the_trail_where_it_comes_back_is_the_trail_again(
    off_m: float, *, gone: bool
) -> None:
    """All who take it turn off at its far end; 10 m off it would be a line of its own."""
    here, there, north = (0.0, 0.0), (36.0, 0.0), (0.0, 120.0)
    beside = ((30.0, off_m), (6.0, off_m))
    web = web_of(
        (0, 1, even(here, WEST)), (0, 2, even(here, there)), (2, 3, even(there, EAST)),
        (2, 0, even(there, *beside, here)), (0, 4, even(here, north)),
    )  # fmt: skip
    turning = (EAST, there, *beside, (4.0, off_m), (4.0, 120.0))
    moved(web, *[turning] * 4, *[(EAST, WEST)] * 12)
    assert (len(web.lines) == 4) == gone


def test_a_ring_at_a_node_tells_nothing() -> None:
    ring = even((0.0, 0.0), (40.0, 40.0), (0.0, 80.0), (-40.0, 40.0), (0.0, 0.0))
    web = web_of((0, 1, even((0.0, 0.0), WEST)), (0, 0, ring))
    assert moved(web, (WEST, (0.0, 0.0), (40.0, 40.0))) == 0
    assert moved(web_of((0, 1, even(WEST, EAST))), (WEST, EAST)) == 0
