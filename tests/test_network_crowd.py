"""How rare a line is, all rides tell: beside a crowd, errors reach further."""

from __future__ import annotations

import numpy as np
import pytest

from loopwright.invented.park import OPEN_OCEAN
from loopwright.invented.riders import DAY_S
from loopwright.model.arrays import Floats
from loopwright.network import build_network, recall, remember
from loopwright.network.crowd import Crowd
from loopwright.network.samples import gather
from loopwright.network.strays import drop_strays
from loopwright.network.web import Web
from network_help import START_S, cleaned, degrees, largest_gap_m, recorded, winding
from test_network_repair import even, web_of
from test_network_strays import LINE, seen, swung


def beside(off_m: float, *, rides: float, passes: float = 1.0, worse: float = 1.0) -> Web:
    """A line of 300 m that 13 passes shape and ``rides`` went by, and one ``off_m`` beside it."""
    far = even((0.0, 0.0), (50.0, off_m), (250.0, off_m), (300.0, 0.0))
    web = web_of((0, 1, even((-90.0, 0.0), (0.0, 0.0))), (1, 2, even((0.0, 0.0), (300.0, 0.0))),
                 (2, 3, even((300.0, 0.0), (390.0, 0.0))), (1, 2, far))  # fmt: skip
    for number, line in web.lines.items():
        lone = number == max(web.lines)
        line.passes, line.rides = (passes, passes) if lone else (13.0, rides)
        line.error_m, line.worse = (6.0, worse) if lone else (6.0, 1.0)
    return web


@pytest.mark.parametrize(
    ("off_m", "rides", "passes", "goes"),
    [
        (28.0, 13.0, 1.0, True),
        (50.0, 13.0, 1.0, False),
        # Eight times the rides: the furthest of them strays twice as far.
        (50.0, 104.0, 1.0, True),
        (68.0, 104.0, 1.0, False),
        (68.0, 351.0, 1.0, True),
        # Passes that agree tell where they went.
        (24.0, 104.0, 3.0, True),
        (30.0, 104.0, 8.0, False),
        (12.0, 13.0, 5.0, False),
    ],
)
def test_the_more_rides_the_further_the_rarest_strays(
    off_m: float, rides: float, passes: float, *, goes: bool
) -> None:
    assert drop_strays(beside(off_m, rides=rides, passes=passes), 6.0) == goes


def test_good_receivers_are_believed_whatever_the_crowd() -> None:
    assert drop_strays(beside(30.0, rides=1000.0), 3.0) == 0


def test_passes_that_agree_in_shade_tell_no_more_than_one() -> None:
    assert drop_strays(beside(36.0, rides=104.0, passes=4.0), 6.0) == 0
    assert drop_strays(beside(36.0, rides=104.0, passes=4.0, worse=1.4), 6.0) == 1


def rides(count: int, xy: Floats) -> list[Floats]:
    return [seen(xy, seed) for seed in range(count)]


def test_all_passes_near_a_place_are_counted() -> None:
    lines = [*rides(20, winding()), winding() + np.array([0.0, 60.0])]
    samples = gather(cleaned(recorded(xy, start=START_S + DAY_S * k) for k, xy in enumerate(lines)))
    crowd, last = Crowd(), np.zeros(len(samples), dtype=bool)
    last[-1] = True
    crowd.tell(samples, last)
    near = crowd.near(samples.xy)
    lone = samples.ride == samples.ride.max()
    # Cells are cut by a line here and there: a pass shows in three to five of nine.
    assert 18.0 <= np.median(near[~lone]) <= 34.0, np.median(near[~lone])
    assert 0.9 <= np.median(near[lone]) <= 1.7


def test_rides_after_the_last_that_shapes_a_line_count_for_nothing() -> None:
    tracks = cleaned(
        recorded(xy, start=START_S + DAY_S * k) for k, xy in enumerate(rides(9, winding()))
    )
    whole, parts = Crowd(), Crowd()
    everything = gather(tracks)
    whole.tell(everything, everything.ride <= 5)
    shaping = everything.xy[everything.ride <= 5]
    for number, track in enumerate(tracks):
        samples = gather([track], number_from=number)
        # The fourth and fifth ride shape nothing, but one after them does.
        parts.tell(samples, np.full(len(samples), number in {0, 1, 2, 5}))
    first = Crowd()
    some = gather(tracks[:6])
    first.tell(some, some.ride == 5)
    assert (whole.near(shaping) == first.near(shaping)).all()
    assert (parts.near(shaping) == first.near(shaping)).all()


def test_no_rides_tell_nothing() -> None:
    crowd, none = Crowd(), gather(())
    crowd.tell(none, np.zeros(0, dtype=bool))
    assert len(crowd.near(none.xy)) == 0


def test_a_swing_beside_a_crowd_is_told_the_same_when_rides_are_added() -> None:
    line = LINE[LINE[:, 0] < 600.0]
    usual = [seen(line, seed, 6.0) for seed in range(30)]
    lines = [*usual, seen(swung(line, 150.0, 450.0, 40.0), 99, 6.0), line]
    tracks = cleaned(recorded(xy, start=START_S + DAY_S * k) for k, xy in enumerate(lines))
    whole = build_network(tracks, OPEN_OCEAN)
    assert degrees(whole) == [1, 1]
    before = remember(tracks[:-1])
    assert before.asides
    after = recall(remember(tracks, previous=before), OPEN_OCEAN)
    assert largest_gap_m(after, whole) == 0.0
