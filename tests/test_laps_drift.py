"""The drift smoother against the closed form of the same model."""

from __future__ import annotations

import numpy as np
import pytest

from loopwright.laps.kernels import drift

SIGMA, TAU = 2.5, 60.0


def test_it_is_the_conditional_mean_and_covariance() -> None:
    # A Kalman smoother gives what conditioning one large Gaussian gives (Rauch and others 1965).
    rng = np.random.default_rng(3)
    n = 40
    time = np.sort(rng.uniform(0, 200, n))
    turn = np.cumsum(rng.normal(0, 0.4, n))
    normal = np.column_stack((np.cos(turn), np.sin(turn)))
    offset, noise = rng.normal(0, 2, n), rng.uniform(0.5, 3, n)
    mean, cov = drift(normal, offset, noise, time, SIGMA, TAU)
    prior = SIGMA**2 * np.exp(-np.abs(time[:, None] - time[None, :]) / TAU)
    whole = np.kron(prior, np.eye(2))
    seen = np.zeros((n, 2 * n))
    for i in range(n):
        seen[i, 2 * i : 2 * i + 2] = normal[i]
    gain = whole @ seen.T @ np.linalg.inv(seen @ whole @ seen.T + np.diag(noise))
    after = whole - gain @ seen @ whole
    assert mean.ravel() == pytest.approx(gain @ offset, abs=1e-8)
    for i in range(n):
        block = after[2 * i : 2 * i + 2, 2 * i : 2 * i + 2]
        assert cov[i] == pytest.approx([block[0, 0], block[0, 1], block[1, 1]], abs=1e-8)


def test_what_is_not_seen_fades_to_the_prior() -> None:
    time = np.array([0.0, 1.0, 1000.0])
    normal = np.array([[1.0, 0.0]] * 3)
    noise = np.array([0.1, 0.1, np.inf])
    mean, cov = drift(normal, np.array([2.0, 2.0, 9.0]), noise, time, SIGMA, TAU)
    assert mean[1, 0] == pytest.approx(2.0, abs=0.1)
    assert mean[1, 1] == 0
    assert mean[2] == pytest.approx([0, 0], abs=1e-3)
    assert cov[2] == pytest.approx([SIGMA**2, 0, SIGMA**2], abs=1e-3)
