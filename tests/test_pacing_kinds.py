"""What kinds of place take beyond the model: learned from rides, good for trails never ridden."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from loopwright.model.rider import FitValue, Rider, RiderFit
from loopwright.pacing import plan_lap, what_if
from loopwright.pacing.belief import belief_of, middle
from loopwright.pacing.kinds import KINDS, ground_pace, kinds_at, rates_of, shares_of_time
from loopwright.pacing.lane import lane_of, meeting
from pacing_help import course_of, ring, stadium

TRUE = np.array([0.20, 0.03, -0.04, 0.10])


def sections(count: int, seed: int = 1) -> tuple[np.ndarray, np.ndarray]:
    """Shares of time and misses of 8 % about the true rates."""
    rng = np.random.default_rng(seed)
    shares = rng.uniform(0.0, 0.5, (count, 4))
    return shares, 0.01 + shares @ TRUE + rng.normal(0.0, 0.08, count)


def test_rates_come_back_within_their_error() -> None:
    shares, miss = sections(2000)
    rates = rates_of(shares, miss, np.full(len(miss), 0.08))
    assert np.abs((rates.value - TRUE) / rates.sd).max() < 3
    assert rates.value == pytest.approx(TRUE, abs=0.05)


def test_little_riding_leaves_the_ratios_near_one() -> None:
    shares, miss = sections(4)
    few = rates_of(shares, miss, np.full(len(miss), 0.08))
    assert np.abs(few.value).max() < 0.15
    assert np.all(few.sd > 0.8 * rates_of(shares * 0.0, miss, np.full(4, 0.08)).sd)


def test_bends_count_from_a_corner_on_and_slopes_in_proportion() -> None:
    wide, tight = (lane_of(course_of(ring(radius))) for radius in (26.0, 6.0))
    assert kinds_at(wide)[:, 0].max() == 0
    assert kinds_at(tight)[:, 0] == pytest.approx(np.ones(len(tight.dist_m)), abs=0.01)
    slope = replace(wide, grade=np.full(len(wide.dist_m), 0.05))
    assert kinds_at(slope)[:, 1] == pytest.approx(np.full(len(wide.dist_m), 0.5))
    assert kinds_at(slope)[:, 2].max() == 0


def test_a_section_shares_its_time_out_not_its_length() -> None:
    lane = lane_of(course_of(ring(100.0)))
    half = np.arange(len(lane.dist_m)) >= 50
    lane = replace(lane, grade=np.where(half, 0.1, 0.0))
    clock = np.cumsum(np.where(half, 3.0, 1.0)) - 1.0
    share = shares_of_time(lane, clock, np.array([0], np.int32), np.array([100], np.int32))
    assert share[0, 1] == pytest.approx(0.75, abs=0.02)


def test_turns_into_another_trail_count_from_both_sides() -> None:
    assert [meeting(turn) for turn in (0.0, np.pi / 4, -np.pi / 2, 3.0)] == [0.0, 0.5, 1.0, 1.0]
    bend = stadium(100.0, 5.0)
    one = course_of(bend)
    two = replace(
        one, arcs=one.arcs * 2, arc_ends_m=np.array([107.8, one.length_m])
    )  # the first half circle lies around 108 m
    meets = lane_of(two).meets
    assert meets[108] > 0.8
    assert meets[60] == 0


def test_a_plan_takes_the_ratios_where_they_hold() -> None:
    values = {key: FitValue(value=1.0, low=0.99, high=1.01, observations=9) for key in KINDS}
    slow = values | {"bends": FitValue(value=1.3, low=1.2, high=1.4, observations=9)}
    course = course_of(stadium(150.0, 6.0))
    plain, bent = (
        plan_lap(course, Rider(), fit=RiderFit(values=one, error_share=None, words=""))
        for one in (values, slow)
    )
    bends = (plain.dist_m > 152) & (plain.dist_m < 166)
    ratio = bent.speed_mps / plain.speed_mps
    assert ratio[bends] == pytest.approx(np.full(bends.sum(), 1 / 1.3), rel=0.05)
    straight = (plain.dist_m > 60) & (plain.dist_m < 100)
    assert ratio[straight] == pytest.approx(np.ones(straight.sum()), abs=1e-6)
    assert what_if(course, Rider(), bike_kg=2.0) > 0


def test_without_a_fit_nothing_is_added() -> None:
    lane = lane_of(course_of(ring(10.0)))
    assert ground_pace(lane, middle(belief_of(Rider()))) == pytest.approx(np.ones(len(lane.grade)))
