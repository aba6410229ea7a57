"""The compiled passes along a lap against slow plain answers, as compiled and as written."""

from __future__ import annotations

from itertools import combinations_with_replacement

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from loopwright.model.arrays import Floats
from loopwright.pacing.kernels import (
    _next_speed,
    balance_low,
    brake_pass,
    power_pass,
    ride_pieces,
    rising_places,
    spent_high,
)

STEP_M = 2.0


def brakes(
    cap: Floats, corner: Floats, hold: Floats, speed: Floats, *, closed: bool
) -> list[float]:
    """Most speed at each point from which the next point's speed can still be met."""
    most = []
    for i in range(len(cap)):
        if i == len(cap) - 1 and not closed:
            most.append(float(cap[i]))
            continue
        j = (i + 1) % len(cap)
        lean = min(1.0, (speed[j] / corner[j]) ** 2)
        room = hold[j] * (1.0 - lean * lean) ** 0.5
        most.append(min(float(cap[i]), float((speed[j] ** 2 + 2 * room * STEP_M) ** 0.5)))
    return most


@pytest.mark.parametrize("closed", [True, False])
@pytest.mark.parametrize("seed", range(5))
def test_braking_meets_every_limit_ahead_and_wastes_nothing(seed: int, *, closed: bool) -> None:
    rng = np.random.default_rng(seed)
    n = 60
    cap, hold = rng.uniform(2, 14, n), rng.uniform(1, 5, n)
    corner = cap * rng.choice([1.0, 1.0, 1.3, 40.0], n)
    speed = brake_pass(cap, corner, hold, STEP_M, closed)
    assert (speed <= cap).all()
    np.testing.assert_allclose(speed, brakes(cap, corner, hold, speed, closed=closed), atol=1e-9)
    if closed:
        turned = brake_pass(np.roll(cap, 7), np.roll(corner, 7), np.roll(hold, 7), STEP_M, True)  # noqa: FBT003 - positional for numba
        np.testing.assert_allclose(turned, np.roll(speed, 7), atol=1e-9)


@pytest.mark.parametrize(
    ("speed", "thrust", "pull"),
    [
        (0.0, 250.0, 10.0),
        (3.0, 250.0, 60.0),
        (9.0, 0.0, -40.0),
        (5.0, 900.0, 5.0),
    ],
)
def test_the_next_speed_balances_the_energy(speed: float, thrust: float, pull: float) -> None:
    drag, per = 0.5, STEP_M / 85.0

    def gap(v: float) -> float:
        force = thrust / v - pull - 0.5 * drag * v * v
        return 0.5 * (v * v - speed * speed) - per * force

    got = _next_speed(speed, thrust, pull, drag, 1e9, per)
    assert got == pytest.approx(brentq(gap, 1e-6, 80.0), abs=2e-4)


def test_who_cannot_climb_on_comes_to_a_stand() -> None:
    assert 0.0 <= _next_speed(0.5, 0.0, 90.0, 0.5, 1e9, STEP_M / 85.0) < 1e-9


def test_a_wheel_that_slips_pushes_with_what_holds() -> None:
    drag, per, most = 0.4, STEP_M / 85.0, 90.0
    free = _next_speed(2.0, 600.0, 20.0, drag, 1e9, per)
    held = _next_speed(2.0, 600.0, 20.0, drag, most, per)
    assert held < free
    assert held**2 == pytest.approx(4.0 + 2 * per * (most - 20.0 - 0.5 * drag * 4.0))
    assert _next_speed(0.2, 600.0, 500.0, drag, most, per) == 0.0
    assert _next_speed(2.0, 600.0, 20.0, drag, 600.0 / free, per) == pytest.approx(free, abs=1e-4)


def test_a_ride_follows_the_equation_of_motion() -> None:
    """On a fine grid the pass comes to what scipy's integrator makes of m dv/dt = P/v - F."""
    n, step, mass, drag, pull, power = 4001, 0.05, 85.0, 0.5, 25.0, 280.0
    wide = np.full(n, 1e3)
    speed, time, used = power_pass(
        2.0, wide, wide, np.full(n, power), np.full(n, pull), np.full(n, 1e9), drag, step / mass,
        step, 0.1,
    )  # fmt: skip
    found = solve_ivp(
        lambda _t, y: [y[1], (power / y[1] - pull - 0.5 * drag * y[1] ** 2) / mass],
        (0.0, time[-1]), [0.0, 2.0], rtol=1e-9, atol=1e-9,
    )  # fmt: skip
    assert speed[-1] == pytest.approx(found.y[1][-1], rel=2e-3)
    assert step * (n - 1) == pytest.approx(found.y[0][-1], rel=2e-3)
    np.testing.assert_allclose(used[1:], power, rtol=1e-4)


def test_a_ride_keeps_to_envelope_floor_grip_and_gift() -> None:
    n, per, drag = 80, STEP_M / 85.0, 0.5
    envelope = np.where(np.arange(n) > 50, 4.0, 12.0)
    power, pull = np.full(n, 300.0), np.where(np.arange(n) < 20, 300.0, 10.0)
    corner, most = np.full(n, 20.0), np.full(n, 200.0)
    speed, time, used = power_pass(
        99.0, envelope, corner, power, pull, most, drag, per, STEP_M, 1.5
    )
    assert speed[0] == 12.0
    assert (speed <= envelope).all()
    assert speed.min() >= 1.0
    assert (used >= 0).all()
    assert (used <= power).all()
    np.testing.assert_allclose(np.diff(time), 2 * STEP_M / (speed[:-1] + speed[1:]))
    flat = slice(60, n - 1)
    np.testing.assert_allclose(used[flat], (10.0 + 0.5 * drag * 16.0) * 4.0)  # holds its speed
    assert used[50] == 0.0  # brakes
    assert used[n - 1] == used[n - 2]
    slow = power_pass(
        2.0, envelope, corner, power * 0, pull * 3, most, drag, per, STEP_M, 1.5
    )[0]  # fmt: skip
    assert slow[1:10].tolist() == [1.5] * 9
    leaning = power_pass(
        10.0, envelope, np.full(n, 10.0), power * 9, pull * 0, most, 0.0, per, STEP_M, 0.1
    )[0]  # fmt: skip
    assert leaning[1] == pytest.approx(10.0)  # all the grip holds the line, none pushes


@pytest.mark.parametrize("seed", range(4))
def test_balance_and_spending_are_their_sums(seed: int) -> None:
    rng = np.random.default_rng(seed)
    power, time = rng.uniform(0, 500, 40), np.cumsum(rng.uniform(0.5, 4.0, 40))
    cp, whole, tau, start = 250.0, 20_000.0, 400.0, (17_000.0, 900.0)
    left, spent = [start[0]], [start[1]]
    for watts, dt in zip(power[:-1], np.diff(time), strict=True):
        spare = cp - watts
        down = left[-1] + spare * dt
        up = whole - (whole - left[-1]) * np.exp(-spare * dt / whole)
        left.append(down if spare < 0 else up)
        spent.append(spent[-1] * np.exp(-dt / tau) + max(watts - cp, 0.0) * dt)
    assert balance_low(power, time, cp, whole, start[0]) == pytest.approx((min(left), left[-1]))
    assert spent_high(power, time, cp, tau, start[1]) == pytest.approx((max(spent), spent[-1]))


def test_pieces_are_rides_of_their_own() -> None:
    rng = np.random.default_rng(3)
    n, per, drag, floor = 30, STEP_M / 85.0, 0.5, 0.5
    cap, corner, hold, power, pull, most = (rng.uniform(a, b, n) for a, b in (
        (3, 12), (12, 30), (1, 4), (0, 400), (-20, 60), (100, 400),
    ))  # fmt: skip
    firsts, entry = np.array([0, 11, 30], np.int32), np.array([4.0, 2.0])
    got = ride_pieces(firsts, entry, cap, corner, hold, power, pull, most, drag, per, STEP_M, floor)
    for a, b, start in ((0, 11, 4.0), (11, 30, 2.0)):
        envelope = brake_pass(cap[a:b], corner[a:b], hold[a:b], STEP_M, False)  # noqa: FBT003 - positional for numba
        time = power_pass(
            start, envelope, corner[a:b], power[a:b], pull[a:b], most[a:b], drag, per, STEP_M, floor
        )[1]
        np.testing.assert_array_equal(got[a:b], time)


@pytest.mark.parametrize("seed", range(8))
def test_rising_places_are_the_nearest_that_never_fall(seed: int) -> None:
    rng = np.random.default_rng(seed)
    line, points = rng.normal(0, 10, (7, 2)), rng.normal(0, 10, (4, 2))
    off = ((points[:, None] - line[None]) ** 2).sum(axis=2)
    every = combinations_with_replacement(range(7), 4)
    best = min(every, key=lambda way: sum(off[i, j] for i, j in enumerate(way)))
    assert rising_places(points, line).tolist() == list(best)
