"""Far swings and strands in shade, told on lines with known passes and errors."""

from __future__ import annotations

import pytest

from loopwright.network.strays import drop_strays
from loopwright.network.web import Web
from test_network_knots import walked
from test_network_repair import even

FOOT_M, WHEEL_M = 2.1, 1.6
"""How far somebody on foot wanders, and a rider."""
OUT_AND_BACK = 1.35
"""Passes of one ride that goes out and comes back."""


def rough(web: Web, *, error_m: float = 3.0, worse: float = 1.0) -> Web:
    """Let every line of a web err so much; all that went by it shape it."""
    for one in web.lines.values():
        one.error_m, one.worse, one.rides = error_m, worse, one.passes
    return web


@pytest.mark.parametrize(
    ("wander_m", "passes", "crowd", "gone"),
    [
        (FOOT_M, OUT_AND_BACK, 6.0, 1),
        (FOOT_M, OUT_AND_BACK, 2.0, 0),
        (FOOT_M, 1.9, 6.0, 0),
        (WHEEL_M, OUT_AND_BACK, 6.0, 0),
    ],
)
def test_on_foot_one_ride_out_and_back_beside_a_walked_line_is_a_swing(
    wander_m: float, passes: float, crowd: float, gone: int
) -> None:
    web = rough(walked(
        (0, 1, even((-200.0, 0.0), (0.0, 0.0)), crowd),
        (1, 2, even((0.0, 0.0), (200.0, 0.0)), crowd),
        (1, 3, even((0.0, 0.0), (10.0, 40.0)), passes),
    ))  # fmt: skip
    assert drop_strays(web, 3.0, wander_m) == gone


def test_a_way_out_and_back_longer_than_any_swing_stays() -> None:
    web = rough(walked(
        (0, 1, even((-200.0, 0.0), (0.0, 0.0)), 6.0),
        (1, 2, even((0.0, 0.0), (200.0, 0.0)), 6.0),
        (1, 3, even((0.0, 0.0), (10.0, 80.0)), OUT_AND_BACK),
    ))  # fmt: skip
    assert drop_strays(web, 3.0, FOOT_M) == 0


@pytest.mark.parametrize(
    ("worse", "apart_m", "gone"), [(2.0, 25.0, 1), (1.0, 25.0, 0), (2.0, 60.0, 0)]
)
def test_in_shade_one_of_two_lone_strands_explains_the_other(
    worse: float, apart_m: float, gone: int
) -> None:
    # Two passes that each err by 6 m lie up to 2.3 times 6 times the root of two apart, twice.
    web = rough(walked(
        (0, 1, even((-100.0, 0.0), (0.0, 0.0)), 8.0),
        (1, 2, even((0.0, 0.0), (300.0, 0.0)), 1.0),
        (1, 2, even((0.0, 0.0), (20.0, apart_m), (280.0, apart_m), (300.0, 0.0)), 1.0),
        (2, 3, even((300.0, 0.0), (400.0, 0.0)), 8.0),
    ), error_m=3.0 * worse, worse=worse)  # fmt: skip
    assert drop_strays(web, 3.0, FOOT_M) == gone
