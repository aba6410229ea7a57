"""What each piece of trail takes: learned from rides, pulled to 1, laid along a lap."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from loopwright.model.arrays import Floats, Ints
from loopwright.model.ids import Arc, StretchId, Way
from loopwright.model.rider import FitValue, Rider, RiderFit
from loopwright.pacing import plan_lap, what_if
from loopwright.pacing.along_course import along_course
from loopwright.pacing.belief import belief_of
from loopwright.pacing.kernels import rising_places
from loopwright.pacing.trails import foretold_without, key_of, shares_of, trails_of
from pacing_help import course_of, stadium

PARTS, RIDES = 40, 8
ARC: Arc = (StretchId("s1"), Way.FORWARD)


def ridden(spread: float, seed: int = 1) -> tuple[Floats, Floats, Ints, Ints, Ints]:
    """Effects of 40 parts of 100 m, and misses of eight rides over all, shifted by 30 m."""
    rng = np.random.default_rng(seed)
    effect = rng.normal(0.0, spread, PARTS)
    part = np.repeat(np.arange(PARTS), 100).astype(np.int32)
    begin = np.tile(np.arange(30, 100 * PARTS - 130, 100), RIDES).astype(np.int32)
    end = begin + 100
    first = begin // 100
    true = 0.7 * effect[first] + 0.3 * effect[first + 1]
    return effect, true + rng.normal(0.0, 0.08, len(true)), part, begin, end.astype(np.int32)


def test_effects_come_back_as_well_as_their_spread_says() -> None:
    effect, miss, part, begin, end = ridden(0.1)
    trails = trails_of(shares_of(part, begin, end), miss, np.full(len(miss), 0.08))
    off = (trails.effect - effect[trails.shares.parts]) / trails.sd
    assert 0.5 < float(np.std(off)) < 1.5
    assert np.corrcoef(trails.effect, effect[trails.shares.parts])[0, 1] > 0.85
    assert trails.noise == pytest.approx(0.08, rel=0.15)
    assert 0.04 < trails.spread < 0.2


def test_where_trails_do_not_differ_all_stay_near_one() -> None:
    _, miss, part, begin, end = ridden(0.0)
    trails = trails_of(shares_of(part, begin, end), miss, np.full(len(miss), 0.08))
    assert np.abs(trails.effect).max() < 0.03


def test_a_section_left_out_has_no_say_in_what_is_foretold_for_it() -> None:
    _, miss, part, begin, end = ridden(0.1)
    trust = np.full(len(miss), 0.08)
    trails = trails_of(shares_of(part, begin, end), miss, trust)
    mask = np.arange(len(miss)) < len(miss) // RIDES
    wild = np.where(mask, 5.0, miss)
    one, two = (foretold_without(trails, m, trust, mask) for m in (miss, wild))
    assert one == pytest.approx(two)
    assert np.corrcoef(one, miss[mask])[0, 1] > 0.5


def slower(times: float, parts: int = 1) -> RiderFit:
    value = FitValue(value=times, low=times / 1.01, high=times * 1.01, observations=9)
    return RiderFit(values={}, error_share=None, words="", trails={key_of(ARC): (value,) * parts})


def test_a_slow_trail_slows_the_lap_in_proportion() -> None:
    course = course_of(stadium(300.0, 30.0))
    plain, slow = (plan_lap(course, Rider(), fit=fit) for fit in (None, slower(1.25, parts=3)))
    assert slow.lap_time_s == pytest.approx(1.25 * plain.lap_time_s, rel=1e-6)
    assert slow.speed_mps == pytest.approx(plain.speed_mps / 1.25, rel=1e-6)
    assert sum(one.time_s for one in slow.splits) == pytest.approx(slow.lap_time_s)


def test_what_if_asks_the_fitted_rider() -> None:
    course = course_of(stadium(120.0, 5.0))
    plain, slow = (what_if(course, Rider(), bike_kg=2.0, fit=fit) for fit in (None, slower(2.0)))
    assert slow == pytest.approx(2 * plain, rel=1e-6)


def test_an_arc_parted_by_the_gate_keeps_its_parts_in_order() -> None:
    course = course_of(stadium(300.0, 30.0))
    other: Arc = (StretchId("s2"), Way.FORWARD)
    length = course.length_m
    # The gate lies 200 m before the end of the first arc, which is 300 m long in all.
    parted = replace(
        course, arcs=(ARC, other, ARC), arc_ends_m=np.array([200.0, length - 100.0, length])
    )
    values = tuple(
        FitValue(value=v, low=v / 1.01, high=v * 1.01, observations=1) for v in (2.0, 3.0, 4.0)
    )
    fit = RiderFit(values={}, error_share=None, words="", trails={key_of(ARC): values})
    at = np.array([50.0, 150.0, 400.0, length - 50.0])
    found = along_course(parted, at, belief_of(Rider()), fit)
    assert found.pace.tolist() == [3.0, 4.0, 1.0, 2.0]
    assert len(set(found.part.tolist())) == 4


def test_fixes_between_two_legs_of_a_hairpin_stay_in_riding_order() -> None:
    out = np.column_stack((np.arange(0.0, 100.0, 2.0), np.zeros(50)))
    back = np.column_stack((np.arange(98.0, -2.0, -2.0), np.full(50, 6.0)))
    line = np.vstack((out, back))
    # Out on the first leg, but seen nearer to the second: only the order tells.
    seen = np.vstack((out + np.array([0.0, 3.5]), back))[::5]
    place = rising_places(seen, line)
    assert (np.diff(place) >= 0).all()
    assert place[:10] == pytest.approx(np.arange(0, 50, 5), abs=2)
