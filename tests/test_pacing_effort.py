"""Critical power, W' and the even-effort plan against published values."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopwright.model.rider import Rider
from loopwright.pacing import effort, plan_lap
from loopwright.pacing.belief import belief_of, middle
from loopwright.pacing.constants import RESERVE
from loopwright.pacing.kernels import balance_low, spent_high
from loopwright.pacing.lane import lane_of
from loopwright.pacing.limits import limits_of
from loopwright.pacing.ride import Run, effort_shape, ride
from pacing_help import course_of, wiggly

CP, W_PRIME = 250.0, 20_000.0


def test_time_to_exhaustion() -> None:
    # t = W'/(P - CP), Monod and Scherrer 1965; computed.
    found = effort.time_to_exhaustion_s(400, cp_w=CP, w_prime_j=W_PRIME)
    assert found == pytest.approx(133.33, abs=0.01)
    for watts, seconds in ((316.67, 300), (277.78, 720)):
        lasts = effort.time_to_exhaustion_s(watts, cp_w=CP, w_prime_j=W_PRIME)
        assert lasts == pytest.approx(seconds, rel=1e-3)
    assert effort.time_to_exhaustion_s(250, cp_w=CP, w_prime_j=W_PRIME) == float("inf")


def test_balance_falls_and_recovers() -> None:
    # 60 s at 400 W leaves 11,000 J; then 60 s at 100 W gives 14,261.3 J (computed).
    time = np.arange(0.0, 121.0)
    power = np.where(time < 60, 400.0, 100.0)
    low, last = balance_low(power, time, CP, W_PRIME, W_PRIME)
    assert low == pytest.approx(11_000)
    assert last == pytest.approx(14_261.3, abs=0.1)


def test_recovery_time_constants() -> None:
    # Skiba 2012: 546 exp(-0.01 D) + 316; computed.
    found = [effort.recovery_tau_s(d) for d in (50, 100, 150, 250)]
    assert found == pytest.approx([647.17, 516.86, 437.83, 360.82], abs=0.01)


def test_integral_form_spends_what_was_ridden_above_critical_power() -> None:
    time = np.arange(0.0, 11.0)
    high, _ = spent_high(np.full(11, 350.0), time, CP, 1e12, 0.0)
    assert high == pytest.approx(1000)


def test_two_all_out_efforts_give_both_numbers() -> None:
    rider = Rider(all_out_w={180.0: CP + W_PRIME / 180, 720.0: CP + W_PRIME / 720})
    found = effort.capacity_of(rider)
    assert found is not None
    assert (found.cp_w, found.w_prime_j) == pytest.approx((CP, W_PRIME))
    assert found.low_j < W_PRIME < found.high_j


@pytest.mark.parametrize(
    "rider",
    [
        Rider(),
        Rider(all_out_w={180.0: 300.0}),
        Rider(all_out_w={180.0: 200.0, 720.0: 300.0}),
        Rider(critical_power_w=0.0),
    ],
)
def test_nothing_sensible_gives_no_capacity(rider: Rider) -> None:
    assert effort.capacity_of(rider) is None


@pytest.mark.parametrize(
    ("rider", "told"),
    [
        (Rider(), ""),
        (Rider(critical_power_w=250.0), ""),
        (Rider(critical_power_w=-5.0), "above 0"),
        (Rider(all_out_w={180.0: 300.0}), "different length"),
        (Rider(all_out_w={180.0: 300.0, 720.0: 0.0}), "different length"),
        (Rider(all_out_w={180.0: 200.0, 720.0: 300.0}), "do not fit"),
        (Rider(all_out_w={180.0: 500.0, 720.0: 100.0}), "do not fit"),
        (Rider(all_out_w={180.0: 300.0, 720.0: 300.0}), "do not fit"),
        (Rider(all_out_w={180.0: 361.0, 720.0: 278.0}), ""),
    ],
)
def test_odd_efforts_say_why_there_are_no_watts(rider: Rider, told: str) -> None:
    why = effort.why_no_capacity(rider)
    assert told in why
    assert bool(why) == bool(told)
    course = course_of(wiggly(900))
    plan = plan_lap(course, rider)
    assert plan.lap_time_s > 0
    assert told in plan.basis


def test_unknown_w_prime_takes_a_usual_one_and_says_so() -> None:
    found = effort.capacity_of(Rider(critical_power_w=260.0))
    assert found is not None
    assert "usual" in found.words
    assert found.high_j - found.low_j > 10_000


@pytest.mark.parametrize("laps", [1, 3, 6])
def test_the_plan_is_the_highest_that_keeps_the_reserve(laps: int) -> None:
    rides, capacity = _rides(), _capacity()
    level, (low, high) = effort.best_level(rides, capacity, laps)
    keep = RESERVE * capacity.w_prime_j
    assert effort.lowest_balance(*rides(level), laps, capacity) >= keep - 1
    assert effort.lowest_balance(*rides(level * 1.01), laps, capacity) < keep
    assert low < high


def test_more_laps_are_ridden_easier() -> None:
    levels = [effort.best_level(_rides(), _capacity(), laps)[0] for laps in (1, 2, 5)]
    assert levels[0] > levels[1] > levels[2]


@given(st.floats(0.0, 600.0), st.floats(0.0, 600.0))
def test_balance_never_leaves_its_bounds_from_above(first: float, second: float) -> None:
    time = np.arange(0.0, 200.0)
    power = np.where(time < 100, first, second)
    low, last = balance_low(power, time, CP, W_PRIME, W_PRIME)
    assert low <= last <= W_PRIME + 1e-6


def _capacity() -> effort.Capacity:
    found = effort.capacity_of(Rider(critical_power_w=CP, w_prime_j=W_PRIME))
    assert found is not None
    return found


def _rides() -> Callable[[float], tuple[Run, Run]]:
    xy = wiggly(2500)
    lane = lane_of(course_of(xy, ele=30 * np.sin(np.linspace(0, 4 * np.pi, len(xy)))))
    setting = middle(belief_of(Rider()))
    limits = limits_of(lane, Rider(), setting)
    shape = effort_shape(lane.grade, setting.uphill_gain)

    def at(level: float) -> tuple[Run, Run]:
        return ride(
            lane,
            limits,
            power_w=level * shape,
            efficiency=setting.efficiency,
            pace=np.ones(len(lane.dist_m)),
        )

    return at
