"""The compiled passes of lap finding against slow plain answers, as compiled and as written."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest

from loopwright.laps.kernels import (
    FASTEST_MPS,
    GAP_COST,
    JUMP_COST,
    OFF_COST,
    SLACK_M,
    SWITCH_COST,
    _step_cost,
    best_way,
    drift,
    near_places,
)

NAN = np.nan


@pytest.mark.parametrize("seed", range(6))
def test_near_places_are_the_least_distances_round_about(seed: int) -> None:
    rng = np.random.default_rng(seed)
    turn = np.linspace(0, 2 * np.pi, 60, endpoint=False)
    line = np.column_stack((40 * np.cos(turn), 25 * np.sin(3 * turn)))
    points = rng.uniform(-45, 45, (30, 2))
    at, gap = near_places(points, line, 30.0, 3)
    for i, point in enumerate(points):
        far = np.hypot(*(line - point).T)
        low = (far <= np.roll(far, 1)) & (far < np.roll(far, -1)) & (far < 30.0)
        want = sorted(np.flatnonzero(low).tolist(), key=lambda j: far[j])[:3]
        assert at[i].tolist() == want + [-1] * (3 - len(want))
        np.testing.assert_allclose(gap[i], [*far[want], *[np.inf] * (3 - len(want))])


def test_of_places_equally_far_the_last_of_a_run_counts_and_the_first_found_leads() -> None:
    line = np.array([[-3.0, 4.0], [3.0, 4.0], [9.0, 9.0], [3.0, -4.0], [-9.0, -9.0]])
    at, gap = near_places(np.zeros((1, 2)), line, 5.1, 4)
    assert at[0].tolist() == [1, 3, -1, -1]
    assert gap[0].tolist() == [5.0, 5.0, np.inf, np.inf]
    assert near_places(np.zeros((1, 2)), line, 5.0, 4)[0][0].tolist() == [-1] * 4


def test_the_cost_of_a_step() -> None:
    assert _step_cost(5.0, 5.0, 0.0) == 0.0
    assert _step_cost(7.5 + 0.25, 5.0, 0.0) == pytest.approx(0.5 * (2.75 / 3.75) ** 2)
    assert _step_cost(5.0, 7.75, 0.0) == pytest.approx(0.5 * (2.75 / 4.4375) ** 2)
    assert _step_cost(900.0, 5.0, 0.0) == JUMP_COST
    assert _step_cost(10 * FASTEST_MPS + SLACK_M, 5.0, 10.0) == GAP_COST
    assert _step_cost(10 * FASTEST_MPS + SLACK_M + 1e-6, 5.0, 10.0) == JUMP_COST
    assert _step_cost(400.0 + SLACK_M, 400.0, 10.0) == GAP_COST
    assert _step_cost(400.0 - SLACK_M, 400.0, 10.0) == GAP_COST
    assert _step_cost(400.0 - SLACK_M - 1e-6, 400.0, 10.0) == JUMP_COST


def way_cost(states: tuple[int, ...], case: tuple[np.ndarray, ...], length_m: float) -> float:
    """What one sequence of states costs, by the rules that the docs write down."""
    places, cost, ridden, gap_s = case
    k = places.shape[1]
    total = 0.0
    for i, state in enumerate(states):
        here = OFF_COST if state == 2 * k else cost[i, state // k, state % k]
        if state != 2 * k and np.isnan(places[i, state % k]):
            return np.inf
        total += here
        if i == 0:
            continue
        before = states[i - 1]
        if before == state == 2 * k:
            continue
        if 2 * k in {before, state}:
            total += SWITCH_COST
            continue
        moved = places[i, state % k] - places[i - 1, before % k]
        moved = moved if state < k else -moved
        moved = (moved + 0.25 * length_m) % length_m - 0.25 * length_m
        same_way = state // k == before // k
        step = _step_cost(moved, ridden[i], gap_s[i]) if same_way else JUMP_COST
        total += min(step, JUMP_COST)
    return total


@pytest.mark.parametrize("seed", range(12))
def test_the_best_way_is_the_cheapest_of_all(seed: int) -> None:
    rng = np.random.default_rng(seed)
    n, k, length_m = 5, 2, 400.0
    ridden = rng.uniform(3, 30, n)
    run = (np.cumsum(ridden) * (1 if seed % 2 else -1) + 350.0) % length_m
    places = np.column_stack((run + rng.normal(0, 3, n), rng.uniform(0, length_m, n)))
    places[rng.random((n, k)) < 0.15] = NAN
    gap_s = np.where(rng.random(n) < 0.3, 20.0, 0.0)
    case = (places, rng.uniform(0, 4, (n, 2, k)) ** 2, ridden, gap_s)
    states = best_way(case[0], case[1], ridden, gap_s, length_m)
    least = min(way_cost(s, case, length_m) for s in product(range(2 * k + 1), repeat=n))
    assert way_cost(tuple(states.tolist()), case, length_m) == pytest.approx(least)


def test_nowhere_near_the_loop_is_off() -> None:
    bare = np.full((4, 2), NAN)
    states = best_way(bare, np.zeros((4, 2, 2)), np.ones(4), np.zeros(4), 400.0)
    assert states.tolist() == [4, 4, 4, 4]


@pytest.mark.parametrize("seed", range(5))
def test_drift_is_what_a_gaussian_process_says(seed: int) -> None:
    """Filter and smoother give the posterior of two Ornstein-Uhlenbeck processes.

    Source: Rasmussen and Williams, Gaussian Processes for Machine Learning, 2006, equations 2.23
    and 2.24 with the exponential covariance (numbers from memory), solved here at one stroke.
    """
    rng = np.random.default_rng(seed)
    n, sigma, tau = 9, 2.5, 40.0
    time = np.cumsum(rng.uniform(0.5, 30.0, n))
    turn = rng.uniform(0, 2 * np.pi, n)
    normal = np.column_stack((np.cos(turn), np.sin(turn)))
    offset, noise = rng.normal(0, 3, n), rng.uniform(0.2, 4.0, n)
    noise[[2, 7]] = np.inf
    mean, cov = drift(normal, offset, noise, time, sigma, tau)
    prior = np.kron(
        sigma**2 * np.exp(-np.abs(time[:, None] - time[None, :]) / tau), np.eye(2)
    )  # both axes, sample by sample
    seen = np.flatnonzero(np.isfinite(noise))
    look = np.zeros((len(seen), 2 * n))
    for row, i in enumerate(seen):
        look[row, 2 * i : 2 * i + 2] = normal[i]
    gain = prior @ look.T @ np.linalg.inv(look @ prior @ look.T + np.diag(noise[seen]))
    np.testing.assert_allclose(mean, (gain @ offset[seen]).reshape(n, 2), atol=1e-8)
    after = prior - gain @ look @ prior
    want = [[after[2 * i, 2 * i], after[2 * i, 2 * i + 1], after[2 * i + 1, 2 * i + 1]]
            for i in range(n)]  # fmt: skip
    np.testing.assert_allclose(cov, want, atol=1e-8)
