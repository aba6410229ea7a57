"""A hook tells where its branch would meet the trail; anything else tells nothing."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import LineString

from loopwright.geo.polyline import length_m
from loopwright.model.arrays import Floats
from loopwright.network.hooks import unhooked_m
from test_network_repair import even

EAST = (100.0, 0.0)


def line(*corners: tuple[float, float]) -> Floats:
    return even((0.0, 0.0), *corners)[:, :2]


def ahead_m(branch: Floats, back: Floats, ahead: Floats) -> float | None:
    place_m = unhooked_m(branch, LineString(np.vstack((back[::-1], ahead[1:]))))
    return None if place_m is None else place_m - length_m(back)


def told(*corners: tuple[float, float], back_m: float = 100.0) -> float | None:
    """Ask about a branch over ``corners`` from a trail from west to east: metres ahead of it."""
    return ahead_m(line(*corners), line((-back_m, 0.0)), line(EAST))


@pytest.mark.parametrize("meets_m", [20.0, -20.0, 12.0])
def test_a_branch_is_followed_past_its_hook(meets_m: float) -> None:
    assert told((meets_m, 6.0), (meets_m, 90.0)) == pytest.approx(meets_m, abs=2.0)


@pytest.mark.parametrize(
    "corners",
    [
        ((60.0, 60.0),),  # no hook
        ((20.0, 6.0), (20.0, 25.0)),  # too short to show how it comes
        ((-30.0, 12.0), (90.0, 60.0)),  # bends farther out
        ((0.0, 16.0), (90.0, 16.0)),  # comes beside the trail and never meets it
    ],
)
def test_other_branches_tell_nothing(corners: tuple[tuple[float, float], ...]) -> None:
    assert told(*corners) is None


def test_a_branch_that_would_meet_the_trail_beyond_its_end_tells_nothing() -> None:
    assert told((-20.0, 6.0), (-20.0, 90.0)) is not None
    assert told((-20.0, 6.0), (-20.0, 90.0), back_m=15.0) is None


def test_of_two_places_it_would_meet_the_nearer_counts() -> None:
    bent = np.vstack((line((30.0, 0.0)), even((30.0, 0.0), (30.0, -20.0), (0.0, -20.0))[1:, :2]))
    branch = line((20.0, 6.0), (20.0, 90.0))
    assert ahead_m(branch, line((-100.0, 0.0)), bent) == pytest.approx(20.0, abs=2.0)
