"""The lap plan: limits of speed, periodicity, targets."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopwright.model.arrays import Floats
from loopwright.model.course import Course
from loopwright.model.ground import FeatureKind
from loopwright.model.rider import FitValue, LapPlan, Rider, RiderFit, SplitTarget
from loopwright.pacing import plan_lap, what_if
from loopwright.pacing.belief import belief_of, middle
from loopwright.pacing.kernels import brake_pass
from loopwright.pacing.lane import lane_of
from loopwright.pacing.limits import limits_of
from loopwright.pacing.physics import Load, air_density, steady_speed
from loopwright.pacing.ride import MOST_LAPS, Run, _flying
from pacing_help import course_of, feature, ring, stadium, wiggly

STRONG = Rider(critical_power_w=280.0, w_prime_j=20_000.0, max_heart_rate_bpm=190.0)
FEATURES = (
    feature(1, FeatureKind.CLIMB, 100.0, 500.0),
    feature(2, FeatureKind.CORNER, 200.0, 220.0),
    feature(3, FeatureKind.STRAIGHT, 700.0, 800.0),
    feature(4, FeatureKind.DESCENT, 900.0, 1300.0),
)


def hilly(height_m: float = 25.0) -> LapPlan:
    return plan_lap(hill_course(height_m), STRONG, laps=3)


def hill_course(height_m: float) -> Course:
    xy = wiggly(2800)
    return course_of(
        xy, ele=height_m * np.sin(np.linspace(0, 4 * np.pi, len(xy))), features=FEATURES
    )


def test_a_tight_ring_is_ridden_at_the_corner_speed() -> None:
    # v = sqrt(mu g R) on level ground; the ring's length over it is the lap time.
    course = course_of(ring(10.0), surface="gravel", roughness="good")
    plan = plan_lap(course, STRONG)
    speed = np.sqrt(0.35 * 9.80665 * 10.0)
    assert plan.speed_mps == pytest.approx(np.full(len(plan.speed_mps), speed), rel=0.02)
    assert plan.lap_time_s == pytest.approx(course.length_m / speed, rel=0.02)


def test_a_wide_ring_is_ridden_at_the_speed_power_holds() -> None:
    course = course_of(ring(300.0), surface="asphalt", roughness="excellent")
    rider = Rider(mass_kg=70.0, bike_kg=10.0)
    load = Load(mass_kg=80, grade=0, rolling=0.010, drag=0.37 * air_density(0.0))
    steady = steady_speed(210.0 * 0.96, load)
    plan = plan_lap(course, rider)
    assert float(plan.speed_mps.mean()) == pytest.approx(steady, rel=0.002)
    assert plan.first_lap_s > plan.lap_time_s


def test_the_flying_lap_ends_as_it_begins() -> None:
    plan = hilly()
    assert plan.speed_mps[0] == pytest.approx(plan.speed_mps[-1], abs=1e-3)
    assert plan.time_s[0] == 0
    assert np.all(np.diff(plan.time_s) > 0)
    assert plan.first_lap_s > plan.lap_time_s


def test_a_lap_that_never_settles_is_given_up_after_a_dozen() -> None:
    starts: list[float] = []

    def once(start: float) -> Run:
        starts.append(start)
        end = np.array([start, 5.0 if start > 5.5 else 6.0])
        return Run(speed_mps=end, time_s=np.array([0.0, 1.0]), power_w=np.zeros(2))

    lap = _flying(once(0.0), once, 1.0)
    assert starts == [0.0, *[6.0, 5.0] * (MOST_LAPS // 2)]
    assert lap.speed_mps[-1] == 6.0


def test_braking_is_over_before_the_tightest_place() -> None:
    # Riders end braking before the tightest point (Nee and Herterich 2022).
    turn = np.linspace(-np.pi, np.pi, 2001)
    oval = np.column_stack((180 * np.cos(turn), 42 * np.sin(turn)))
    plan = plan_lap(course_of(oval, surface="dirt", roughness="good"), STRONG)
    apex = plan.dist_m[-1] / 2
    speed = np.interp(apex + np.array([-60.0, 0.0]), plan.dist_m, plan.speed_mps)
    near = np.abs(plan.dist_m - apex) < 60
    slowest = plan.dist_m[near][np.argmin(plan.speed_mps[near])]
    assert speed[0] > speed[1] + 1
    assert slowest <= apex + 0.5
    after = (plan.dist_m > apex) & (plan.dist_m < apex + 30)
    assert np.all(np.diff(plan.speed_mps[after]) > -1e-3)


def test_no_speed_asks_for_more_than_the_friction_circle_gives() -> None:
    course = course_of(wiggly(2500, seed=3), roughness="good")
    lane, setting = lane_of(course), middle(belief_of(STRONG))
    limits = limits_of(lane, STRONG, setting)
    speed = brake_pass(limits.cap, limits.corner, limits.hold, lane.step_m, True)  # noqa: FBT003
    slowing = (speed[:-1] ** 2 - speed[1:] ** 2) / (2 * lane.step_m)
    used = (speed[1:] / limits.corner[1:]) ** 2
    braking = slowing > 1e-9
    circle = (slowing / limits.hold[1:]) ** 2 + used**2
    assert np.all(circle[braking] < 1 + 1e-6)
    assert np.all(speed <= limits.cap + 1e-9)


def test_rough_ground_is_slower_and_steep_rough_ground_slower_still() -> None:
    times = [
        plan_lap(course_of(ring(200.0), roughness=word), STRONG).lap_time_s
        for word in ("good", "bad", "horrible")
    ]
    assert times[0] < times[1] < times[2]
    xy = ring(200.0)
    down = course_of(xy, ele=20 * np.cos(np.linspace(0, 2 * np.pi, len(xy))), roughness="bad")
    limits = limits_of(lane_of(down), STRONG, middle(belief_of(STRONG)))
    assert limits.cap.min() < limits.cap.max() - 0.2


def test_splits_tile_the_lap_and_add_up() -> None:
    plan = hilly()
    assert plan.splits[0].from_m == 0
    assert plan.splits[-1].to_m == pytest.approx(plan.dist_m[-1])
    gaps = [b.from_m - a.to_m for a, b in zip(plan.splits, plan.splits[1:], strict=False)]
    assert gaps == pytest.approx([0] * len(gaps))
    assert sum(one.time_s for one in plan.splits) == pytest.approx(plan.lap_time_s)
    assert all(one.low_s < one.time_s < one.high_s for one in plan.splits)
    assert plan.low_s < plan.lap_time_s < plan.high_s


def by_kind(plan: LapPlan, words: str) -> SplitTarget:
    return next(one for one in plan.splits if words in one.name)


def test_each_kind_of_feature_gets_its_targets() -> None:
    plan = hilly()
    climb, corner, straight = (by_kind(plan, w) for w in ("climb", "corner", "straight"))
    assert climb.power_w is not None
    assert climb.torque_nm == pytest.approx(
        climb.power_w / (2 * np.pi * (climb.cadence_rpm or 0) / 60)
    )
    assert 45 < (climb.cadence_rpm or 0) < 75
    assert corner.power_w is None
    assert corner.lowest_mps is not None
    assert corner.lowest_mps <= min(corner.entry_mps or 0, corner.exit_mps or 0)
    assert corner.look_ahead_m == pytest.approx(2 * (corner.entry_mps or 0))
    assert straight.standing_s is not None
    assert straight.standing_s > straight.time_s
    assert (straight.sprint_power_w or 0) > 280


def test_without_teeth_a_climb_has_power_but_no_gear() -> None:
    climb = by_kind(plan_lap(hill_course(25.0), replace(STRONG, sprockets=())), "climb")
    assert climb.power_w is not None
    assert (climb.gear, climb.cadence_rpm, climb.torque_nm) == ("", None, None)


def test_heart_rate_is_given_only_where_it_can_follow() -> None:
    plan = hilly()
    long = [one for one in plan.splits if one.effort_cr10 and one.time_s >= 60]
    short = [one for one in plan.splits if one.time_s < 60]
    assert long
    assert all(one.heart_rate_bpm and one.heart_rate_bpm[1] <= 190 for one in long)
    assert all(one.heart_rate_bpm is None for one in short)


def test_without_critical_power_there_are_times_and_perceived_effort_only() -> None:
    plan = plan_lap(hill_course(25.0), Rider())
    assert plan.w_balance_low_j is None
    assert all(one.power_w is None and one.torque_nm is None for one in plan.splits)
    assert all(one.sprint_power_w is None for one in plan.splits)
    assert any(one.effort_cr10 for one in plan.splits)
    assert "perceived effort only" in plan.basis


def test_without_heights_there_is_a_plan_that_says_so() -> None:
    plan = plan_lap(course_of(wiggly(2000)), STRONG)
    assert plan.lap_time_s > 0
    assert "level" in plan.basis


@pytest.mark.parametrize("limit", ["no wind", "no drafting", "no tiredness beyond W'"])
def test_limits_stand_near_the_numbers(limit: str) -> None:
    assert limit in hilly().basis


def test_w_balance_is_a_range() -> None:
    low, high = hilly().w_balance_low_j or (0.0, 0.0)
    assert low < high


def test_the_same_question_gives_the_same_plan() -> None:
    one, two = hilly(), hilly()
    assert one.splits == two.splits
    assert one.time_s.tobytes() == two.time_s.tobytes()


def test_a_fit_narrows_the_interval() -> None:
    keys = tuple(k for k in belief_of(STRONG) if k not in {"pace", "day", "split", "trail"})
    value = FitValue(value=1.0, low=0.99, high=1.01, observations=40)
    fit = RiderFit(
        values=dict.fromkeys(("pace", "day", "split", "trail"), value), error_share=0.02, words="",
        spread_keys=keys,
        spread_rows=tuple(tuple(row) for row in (1e-4 * np.eye(len(keys))).tolist()),
    )  # fmt: skip
    course = hill_course(25.0)
    wide, narrow = plan_lap(course, STRONG), plan_lap(course, STRONG, fit=fit)
    assert narrow.high_s - narrow.low_s < 0.5 * (wide.high_s - wide.low_s)
    assert "2.0%" in narrow.basis


@pytest.mark.parametrize("ends", [(0.0, 0.4), (120.3, 120.7), (-0.6, 0.0)])
def test_a_sliver_of_a_straight_beside_the_gate_still_gets_a_plan(
    ends: tuple[float, float],
) -> None:
    bare = course_of(stadium(120.0, 20.0))
    from_m, to_m = (end + bare.length_m if ends[0] < 0 else end for end in ends)
    sliver = feature(1, FeatureKind.STRAIGHT, from_m, to_m)
    plan = plan_lap(course_of(stadium(120.0, 20.0), features=[sliver]), STRONG)
    assert sum(one.time_s for one in plan.splits) == pytest.approx(plan.lap_time_s)
    assert all(one.standing_s is None or 0 < one.standing_s < 5 for one in plan.splits)


@pytest.mark.parametrize("laps", [0, -1])
def test_no_laps_are_refused(laps: int) -> None:
    with pytest.raises(ValueError, match="at least one lap"):
        plan_lap(course_of(ring(50.0)), STRONG, laps=laps)


def test_weight_costs_time_uphill() -> None:
    course = hill_course(30.0)
    assert what_if(course, STRONG, bike_kg=2.0) > 3
    assert what_if(course, STRONG, bike_kg=-2.0) < -3
    assert what_if(course, STRONG) == 0


def test_weight_at_the_rim_costs_twice_where_speed_comes_and_goes() -> None:
    # Level ground with hairpins: what counts is speeding up again, m v^2 / 2 for the frame and
    # twice that for mass turning at the rim (any mechanics handbook); rolling adds a little.
    course = course_of(stadium(120.0, 5.0), surface="asphalt", roughness="good")
    frame = what_if(course, STRONG, bike_kg=2.0)
    rim = what_if(course, STRONG, wheel_kg=2.0)
    assert 1.5 * frame < rim < 2.1 * frame


def test_weight_on_a_climb_costs_in_proportion() -> None:
    # Slow on a steep slope power goes into lifting, so time grows as the whole mass does.
    xy = ring(200.0)
    course = replace(course_of(xy), closed=False)
    steep = replace(course, grade=np.full(len(course.dist_m), 0.10))
    base = plan_lap(steep, Rider()).lap_time_s
    cost = what_if(steep, Rider(), bike_kg=2.0)
    assert cost / base == pytest.approx(2.0 / 86.5, rel=0.1)


@settings(max_examples=15, deadline=None)
@given(st.integers(1, 500), st.floats(5.0, 40.0), st.floats(100.0, 400.0))
def test_any_loop_gives_a_finite_plan(seed: int, height_m: float, watts: float) -> None:
    xy = wiggly(1500, seed=seed)
    ele: Floats = height_m * np.sin(np.linspace(0, 2 * np.pi, len(xy)))
    plan = plan_lap(course_of(xy, ele=ele), Rider(critical_power_w=watts))
    assert np.isfinite(plan.time_s).all()
    assert 0 < plan.low_s < plan.lap_time_s < plan.high_s < 1e5
