"""What a person changed is applied to every build, or listed when it no longer fits."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from loopwright.clean import clean_rides
from loopwright.geo.polyline import length_m
from loopwright.invented.park import OPEN_OCEAN
from loopwright.model.ids import Way, Ways
from loopwright.model.network import Correction, CorrectionKind, Network
from loopwright.network import Memory, recall, remember
from network_help import as_rides, correction, degrees, middle_of, recorded, total_m, winding
from worlds import crossing, rides_over

KINDS = list(CorrectionKind)


@cache
def memory(seed: int = 1) -> Memory:
    """Rides of a crossing: four arms of 200 m, west, east, south and north of (0, 0)."""
    tracks = clean_rides(
        as_rides(rides_over(crossing(), rides=8, error_m=2.0, seed=seed)), OPEN_OCEAN
    )
    return remember(tracks)


def network(*corrections: Correction, seed: int = 1) -> Network:
    return recall(memory(seed), OPEN_OCEAN, corrections=corrections)


def arm(built: Network, east: float, north: float) -> int:
    """Number of the stretch whose middle is nearest to a place."""
    gaps = [np.hypot(*(s.xy[len(s.xy) // 2] - [east, north])) for s in built.stretches]
    return int(np.argmin(gaps))


def test_a_crossing_is_the_start() -> None:
    assert degrees(network()) == [1, 1, 1, 1, 4]


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("line", [[(5000.0, 0.0), (5200.0, 0.0)], [(np.nan, 0.0), (1.0, 1.0)]])
def test_corrections_without_a_place_are_listed(
    kind: CorrectionKind, line: list[tuple[float, float]]
) -> None:
    if kind is CorrectionKind.DRAWN and np.isfinite(line[0][0]):
        pytest.skip("ground drawn elsewhere is new ground")
    one = correction(kind, line)
    built = network(one)
    assert built.unfit == (one,)
    assert total_m(built) == pytest.approx(total_m(network()))


def test_hide_takes_a_stretch_away() -> None:
    built = network(correction(CorrectionKind.HIDE, [(0.0, 40.0), (0.0, 190.0)]))
    assert degrees(built) == [1, 1, 1, 3]
    assert built.unfit == ()


def test_hide_part_leaves_the_rest() -> None:
    built = network(correction(CorrectionKind.HIDE, [(0.0, 150.0), (0.0, 199.0)]))
    assert degrees(built) == [1, 1, 1, 1, 4]
    assert total_m(network()) - total_m(built) == pytest.approx(50.0, abs=12.0)


def test_hide_two_arms_joins_the_others_and_their_passes() -> None:
    north = correction(CorrectionKind.HIDE, [(0.0, 40.0), (0.0, 190.0)])
    east = correction(CorrectionKind.HIDE, [(40.0, 0.0), (190.0, 0.0)])
    built = network(north, east)
    assert degrees(built) == [1, 1]
    whole = network()
    most = min(len(whole.stretches[arm(whole, *p)].passes) for p in ((-100, 0), (0, -100)))
    assert len(built.stretches[0].passes) <= most


@pytest.mark.parametrize(("line", "way"), [
    ([(-190.0, 0.0), (-30.0, 0.0)], Ways.FORWARD), ([(-30.0, 0.0), (-190.0, 0.0)], Ways.BACKWARD),
])  # fmt: skip
def test_one_way_holds_in_the_direction_drawn(line: list[tuple[float, float]], way: Ways) -> None:
    built = network(correction(CorrectionKind.ONE_WAY, line))
    west = built.stretches[arm(built, -100.0, 0.0)]
    assert west.ways is way
    assert {s.ways for s in built.stretches if s.id != west.id} == {Ways.BOTH}


def test_closed_and_renamed() -> None:
    line = [(-190.0, 0.0), (-30.0, 0.0)]
    built = network(
        correction(CorrectionKind.CLOSED, line), correction(CorrectionKind.RENAME, line, "Fern Run")
    )
    west = built.stretches[arm(built, -100.0, 0.0)]
    assert west.ways is Ways.CLOSED
    assert west.name == "Fern Run"


def test_cut_parts_what_the_line_crosses() -> None:
    built = network(correction(CorrectionKind.CUT, [(-100.0, -20.0), (-100.0, 20.0)]))
    assert degrees(built) == [1, 1, 1, 1, 1, 1, 4]
    assert total_m(built) == pytest.approx(total_m(network()), abs=1.0)
    outer, inner = (built.stretches[arm(built, x, 0.0)] for x in (-150.0, -50.0))
    assert length_m(outer.xy) == pytest.approx(100.0, abs=10.0)
    assert len(outer.passes) == len(inner.passes)
    assert all(p.first <= p.last for p in outer.passes + inner.passes)


def test_cut_at_a_junction_lets_one_arm_go() -> None:
    built = network(correction(CorrectionKind.CUT, [(-5.0, -20.0), (-5.0, 20.0)]))
    assert degrees(built) == [1, 1, 1, 1, 1, 3]


def test_one_line_may_cut_an_arm_many_times() -> None:
    zigzag = [(-150.0, -20.0), (-130.0, 20.0), (-110.0, -20.0), (-90.0, 20.0)]
    built = network(correction(CorrectionKind.CUT, zigzag))
    assert degrees(built) == [1] * 10 + [4]
    assert built.unfit == ()


def test_join_connects_two_ends() -> None:
    built = network(correction(CorrectionKind.JOIN, [(-195.0, 3.0), (0.0, 198.0)]))
    assert degrees(built) == [1, 1, 2, 2, 4]
    new = next(s for s in built.stretches if s.unridden)
    assert length_m(new.xy) == pytest.approx(280.0, rel=0.06)
    assert np.isfinite(new.ele_m).all()
    assert new.passes == ()


def test_join_of_near_ends_makes_one_junction() -> None:
    cut = correction(CorrectionKind.CUT, [(-100.0, -20.0), (-100.0, 20.0)])
    join = correction(CorrectionKind.JOIN, [(-104.0, 0.0), (-96.0, 0.0)])
    assert sum(d == 1 for d in degrees(network(cut, join))) <= 6


def test_drawn_ground_is_tied_in_and_marked() -> None:
    built = network(correction(CorrectionKind.DRAWN, [(-100.0, 4.0), (-60.0, 90.0), (-3.0, 100.0)]))
    assert degrees(built) == [1, 1, 1, 1, 3, 3, 4]
    new = next(s for s in built.stretches if s.unridden)
    assert new.std_error_m.min() > 5.0


def test_drawn_ground_over_trails_meets_them() -> None:
    built = network(correction(CorrectionKind.DRAWN, [(-150.0, -80.0), (-150.0, 80.0)]))
    assert degrees(built) == [1, 1, 1, 1, 1, 1, 4, 4]


def test_drawn_ground_already_ridden_adds_nothing() -> None:
    built = network(correction(CorrectionKind.DRAWN, [(-180.0, 3.0), (-20.0, 2.0)]))
    assert built.unfit == ()
    assert not any(s.unridden for s in built.stretches)


@pytest.mark.parametrize(
    "kind", [k for k in KINDS if k not in {CorrectionKind.JOIN, CorrectionKind.CUT}]
)
def test_corrections_survive_another_build(kind: CorrectionKind) -> None:
    first = network()
    line = middle_of(first, arm(first, -100.0, 0.0))
    one = correction(kind, line, "Fern Run")
    assert network(one, seed=2).unfit == ()


def test_the_memory_is_not_changed_by_recalling() -> None:
    before = total_m(network())
    network(correction(CorrectionKind.HIDE, [(0.0, 40.0), (0.0, 190.0)]))
    assert total_m(network()) == before
    assert all(s.unridden is False for s in network().stretches)


def test_all_corrections_at_once_on_nothing() -> None:
    empty = recall(remember(()), OPEN_OCEAN, corrections=[correction(k, winding()) for k in KINDS])
    assert len(empty.unfit) == len(KINDS) - 1
    assert [s.unridden for s in empty.stretches] == [True]
    assert recorded(winding()).name == "invented"


def test_a_line_drawn_a_little_past_a_junction_means_the_first_arm_only() -> None:
    built = network(correction(CorrectionKind.CLOSED, [(-190.0, 0.0), (0.0, 0.0), (0.0, 18.0)]))
    closed = [k for k, s in enumerate(built.stretches) if s.ways is Ways.CLOSED]
    assert closed == [arm(built, -100.0, 0.0)]


def test_the_outer_part_of_an_arm_is_closed_alone() -> None:
    built = network(correction(CorrectionKind.CLOSED, [(-195.0, 0.0), (-120.0, 0.0)]))
    (closed,) = (s for s in built.stretches if s.ways is Ways.CLOSED)
    assert length_m(closed.xy) == pytest.approx(80.0, abs=8.0)
    assert degrees(built) == [1, 1, 1, 1, 2, 4]


def test_a_join_from_a_junction_to_itself_does_not_fit() -> None:
    one = correction(CorrectionKind.JOIN, [(-3.0, 0.0), (3.0, 0.0)])
    assert network(one).unfit == (one,)


def test_a_straight_join_can_be_cut_like_any_line() -> None:
    join = correction(CorrectionKind.JOIN, [(-195.0, 3.0), (0.0, 198.0)])
    cut = correction(CorrectionKind.CUT, [(-110.0, 110.0), (-90.0, 90.0)])
    built = network(join, cut)
    assert sum(length_m(s.xy) for s in built.stretches if s.unridden) == pytest.approx(
        280, rel=0.06
    )
    assert degrees(built) == [1, 1, 1, 1, 2, 2, 4]


@pytest.mark.parametrize("last", [[(4.0, 20.0)], [(4.0, 20.0), (3.0, -20.0)]])
def test_cuts_beside_each_other_at_a_junction_leave_no_crumbs(
    last: list[tuple[float, float]],
) -> None:
    built = network(correction(CorrectionKind.CUT, [(5.0, -20.0), *last]))
    assert degrees(built) == [1, 1, 1, 1, 1, 3]
    assert built.unfit == ()


def test_cuts_through_the_very_end_of_an_arm_leave_the_arm() -> None:
    west = network().stretches[arm(network(), -100.0, 0.0)].xy[:, 0].min()
    zigzag = [(west + off, north) for off, north in ((1.4, 20.0), (1.2, -20.0), (1.0, 20.0))]
    built = network(correction(CorrectionKind.CUT, zigzag))
    assert built.unfit == ()
    assert total_m(network()) - total_m(built) == pytest.approx(2.5, abs=1.0)


@pytest.mark.parametrize("source", ["", "invented map"])
def test_a_map_does_not_make_one_way_what_was_ridden_against(source: str) -> None:
    """A person's own word holds; that of a map only where no ride went against it."""
    for line in ([(-190.0, 0.0), (-30.0, 0.0)], [(-30.0, 0.0), (-190.0, 0.0)]):
        one = replace(correction(CorrectionKind.ONE_WAY, line), source=source)
        built = network(one)
        west = built.stretches[arm(built, -100.0, 0.0)]
        forward = line[0][0] < line[1][0]
        against = Way.BACKWARD if forward else Way.FORWARD
        held = Ways.FORWARD if forward else Ways.BACKWARD
        contrary = bool(source) and any(p.way is against for p in west.passes)
        assert west.ways is (Ways.BOTH if contrary else held)
        assert built.unfit == ()


def test_a_few_metres_drawn_are_no_line() -> None:
    short = correction(CorrectionKind.DRAWN, [(-100.0, 60.0), (-90.0, 60.0)])
    assert network(short).unfit == (short,)
    past = correction(CorrectionKind.DRAWN, [(-215.0, 0.0), (-100.0, 0.0)])
    assert network(past).unfit == ()
    assert total_m(network(past)) == pytest.approx(total_m(network()))
    hook = correction(CorrectionKind.DRAWN, [(0.0, 0.0), (-16.0, -16.0), (0.0, 0.0)])
    assert not any(s.unridden for s in network(hook).stretches)
    assert degrees(network(hook)) == degrees(network())


def test_ground_drawn_to_just_beyond_a_trail_ends_at_it() -> None:
    built = network(correction(CorrectionKind.DRAWN, [(-150.0, -80.0), (-150.0, 12.0)]))
    assert degrees(built) == [1, 1, 1, 1, 1, 3, 4]
