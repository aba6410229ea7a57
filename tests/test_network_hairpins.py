"""A dead end up which all ride and come back is two legs, if one lies beside the other."""

from __future__ import annotations

import numpy as np
import pytest

from loopwright.model.arrays import Floats
from loopwright.network.attract import Aligned, headings
from loopwright.network.hairpins import unfold
from loopwright.network.web import Web
from network_help import ridden
from test_network_repair import even, web_of

WEST, EAST, TIP = (-150.0, 0.0), (150.0, 0.0), (0.0, 70.0)
Ride = tuple[tuple[float, float], ...]


def fused() -> Web:
    """A trail from west to east with a dead end to the north."""
    return web_of(
        (0, 1, even((0.0, 0.0), WEST)), (0, 2, even((0.0, 0.0), EAST)),
        (0, 3, even((0.0, 0.0), TIP)),
    )  # fmt: skip


def over(half_m: float, off_m: float = 0.0) -> Ride:
    """Up one leg and down the other, so far to either side; all of it ``off_m`` to the east."""
    legs = ((-half_m, 0.0), (-half_m, 66.0), (0.0, 70.0), (half_m, 66.0), (half_m, 0.0))
    return tuple((x + off_m, y) for x, y in (WEST, *legs, EAST))


def unfolded(web: Web, *rides: Ride) -> tuple[bool, Floats]:
    """Whether any was unfolded, and the samples as laid; before, errors put all on the dead end."""
    samples, aligned, ele = ridden(*(even(*ride)[:, :2] for ride in rides), ele=50.0)
    xy = aligned.xy.copy()
    xy[(np.abs(xy[:, 0]) < 15.0) & (xy[:, 1] > 3.0), 0] = 0.0
    xy[xy[:, 1] < -3.0, 0] = 60.0
    before = Aligned(xy=xy, head=headings(xy, samples.first))
    laid = unfold(web, samples, before, ele)
    return laid is not before, laid.xy


@pytest.mark.parametrize("half_m", [4.0, -4.0])
def test_two_legs_take_the_place_of_a_dead_end(half_m: float) -> None:
    """Whichever way it is ridden, and however far each ride is off; -4 m: the legs cross over."""
    rides = [over(half_m, off) for off in (-3.0, 0.0, 2.0)]
    web = fused()
    found, laid = unfolded(web, *rides, over(half_m, 1.0)[::-1])
    assert found
    (line,) = web.lines.values()
    assert sorted(web.nodes) == [1, 2]
    north = line.xyz[(line.xyz[:, 1] > 20.0) & (line.xyz[:, 1] < 60.0)]
    assert sorted(set(np.round(north[:, 0]))) == [-4.0, 4.0]
    assert line.xyz[:, 1].max() == pytest.approx(70.0, abs=1.0)
    up = laid[(laid[:, 1] > 20.0) & (laid[:, 1] < 60.0)]
    assert np.abs(up[:, 0]) == pytest.approx(np.full(len(up), 4.0), abs=0.2)
    west, east = line.xyz[0, 0], line.xyz[-1, 0]
    assert {west, east} == {-150.0, 150.0}
    first_leg = north[0] if west < 0 else north[-1]
    assert np.sign(first_leg[0]) == -np.sign(half_m)


@pytest.mark.parametrize(
    "rides",
    [
        [over(4.0)] * 2,  # too few
        [over(0.3), over(-0.3), over(0.2)],  # out and back on one way
        [over(1.5)] * 5,  # nearer than legs lie
        [over(4.0)] * 4 + [(WEST, EAST)],  # somebody passes it by
        [over(4.0), over(-4.0), over(4.5), over(-3.0)],  # the sides change
        [(WEST, (0.0, 0.0), (0.0, 66.0))] * 5,  # nobody comes back
        [(WEST, (0.0, 0.0), TIP, (0.3, 0.0), WEST)] * 5,  # all go home by the way they came
        [(WEST, (-4.0, 0.0), (-4.0, 14.0), (4.0, 14.0), (4.0, 0.0), EAST)] * 5,  # hardly up it
    ],
)
def test_other_dead_ends_stay(rides: list[Ride]) -> None:
    web = fused()
    assert not unfolded(web, *rides)[0]
    assert sorted(web.lines) == [0, 1, 2]


def test_long_dead_ends_and_crossings_stay() -> None:
    web = fused()
    web.lines[2].xyz = even((0.0, 0.0), (0.0, 300.0))
    assert not unfolded(web, *[over(4.0)] * 4)[0]
    web = fused()
    web.add_node(4, np.array([0.0, -80.0, 0.0]))
    web.add_line(0, 4, even((0.0, 0.0), (0.0, -80.0)))
    assert not unfolded(web, *[over(4.0)] * 4)[0]


def test_both_of_two_hairpins_in_a_row_are_unfolded() -> None:
    """The line between them is taken by the first."""
    tip, second = (60.0, -70.0), (60.0, 0.0)
    web = web_of(
        (0, 1, even((0.0, 0.0), WEST)), (0, 2, even((0.0, 0.0), second)),
        (0, 3, even((0.0, 0.0), TIP)), (2, 4, even(second, tip)), (2, 5, even(second, EAST)),
    )  # fmt: skip
    more = ((56.0, 0.0), (56.0, -66.0), tip, (64.0, -66.0), (64.0, 0.0))
    ride = (*over(4.0)[:-1], *more, EAST)
    found, _ = unfolded(web, *[ride] * 4)
    assert found
    (line,) = web.lines.values()
    assert line.xyz[:, 1].min() == pytest.approx(-70.0, abs=1.0)
    assert line.xyz[:, 1].max() == pytest.approx(70.0, abs=1.0)
