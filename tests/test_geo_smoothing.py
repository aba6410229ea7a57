"""Heights: noise adds no ascent, hills keep theirs, and the error told is the error made."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.signal import savgol_filter

from loopwright.geo.ascent import ascent_m
from loopwright.geo.quadratics import quadratics
from loopwright.geo.whittaker import choose, slope_error, smooth
from loopwright.model.arrays import Floats

SCALES = tuple(6.0 * 1.25**k for k in range(18))


def risen(ele: Floats) -> float:
    return float(np.clip(np.diff(ele), 0, None).sum())


def smoothed(ele: Floats, step_m: float) -> Floats:
    strength = choose([ele], step_m=step_m, order=2, scales_m=SCALES)
    return smooth(ele, np.ones(len(ele)), step_m=step_m, scale_m=strength.scale_m, order=2)


def hills() -> Floats:
    """Ten sine hills at 5 m spacing, 500 m long each, 398.4 m of true ascent."""
    wave = np.sin(2 * np.pi * np.arange(0, 5000.1, 5.0) / 500)
    return wave * 398.4 / risen(wave)


@pytest.mark.parametrize("noise_m", [1.0, 3.0])
def test_ascent_of_ten_hills_within_3_percent(noise_m: float) -> None:
    # Computed: raw, white noise of s.d. s adds s/sqrt(pi) of false ascent a step.
    chance = np.random.default_rng(11)
    true = hills()
    raw, found = [], []
    for _ in range(12):
        noisy = true + chance.normal(0, noise_m, len(true))
        raw.append(risen(noisy))
        found.append(ascent_m(smoothed(noisy, 5.0).tolist(), least_m=1.0))
    assert np.mean(found) == pytest.approx(398.4, rel=0.015)
    assert np.abs(np.array(found) / 398.4 - 1).max() < 0.03
    assert np.mean(raw) > 398.4 * 1.2


def test_raw_noise_adds_the_ascent_it_should() -> None:
    # Computed: 3,600 steps of s = 1 m add 2,031 m; first-order noise s sqrt(1 - rho) / sqrt(pi).
    chance = np.random.default_rng(12)
    assert risen(chance.normal(0, 1, 3601)) == pytest.approx(2031, rel=0.03)


def test_flat_ground_with_steps_of_a_metre_stays_flat() -> None:
    # Published: heights of +1, 0, 0, -1 m with equal chance every 10 m read 3,750 m of ascent
    # per 100 km when summed raw; see docs/features.md.
    chance = np.random.default_rng(13)
    ele = chance.choice([-1.0, 0.0, 0.0, 1.0], 10_001)
    assert risen(ele) == pytest.approx(3750, rel=0.03)
    assert ascent_m(smoothed(ele, 10.0).tolist(), least_m=1.0) < 5


def test_a_short_real_climb_survives() -> None:
    chance = np.random.default_rng(14)
    dist = np.arange(0, 600, 2.5)
    true = np.interp(dist, [0, 280, 320, 600], [0, 0, 5, 5])
    noisy = true + chance.normal(0, 0.3, len(dist))
    found = smoothed(noisy, 2.5)
    assert ascent_m(found.tolist(), least_m=1.0) == pytest.approx(5, abs=0.5)
    assert np.gradient(found, dist).max() > 0.1


def test_noise_is_estimated_from_the_data() -> None:
    chance = np.random.default_rng(15)
    series = [hills() + chance.normal(0, 2.0, 1001) for _ in range(3)]
    assert choose(series, step_m=5, order=2, scales_m=SCALES).noise_m == pytest.approx(2, rel=0.05)
    assert choose([], step_m=5, order=2, scales_m=SCALES).noise_m == 0
    assert choose([np.full(50, np.nan)], step_m=5, order=2, scales_m=SCALES).noise_m == 0


def test_the_slope_error_told_is_the_one_made() -> None:
    chance = np.random.default_rng(16)
    dist = np.arange(0, 3000, 5.0)
    errors = []
    for _ in range(10):
        walk = np.cumsum(np.cumsum(chance.normal(0, 0.01, len(dist))))
        noisy = walk + chance.normal(0, 1.0, len(dist))
        strength = choose([noisy], step_m=5.0, order=2, scales_m=SCALES)
        ele = smooth(noisy, np.ones(len(dist)), step_m=5, scale_m=strength.scale_m, order=2)
        told = slope_error(len(dist), step_m=5.0, strength=strength)
        errors.append((np.gradient(ele) - np.gradient(walk)) / 5 / told)
    assert np.sqrt(np.mean(np.square(errors))) == pytest.approx(1, abs=0.15)
    assert slope_error(2, step_m=5, strength=strength).tolist() == [np.inf, np.inf]


@pytest.mark.parametrize(("span_m", "percent"), [(20, 6.3), (50, 1.9), (100, 0.72)])
def test_slope_error_of_a_straight_fit(span_m: float, percent: float) -> None:
    # Computed: s.d. of a grade fitted over 20, 50 and 100 m per metre of white error, 5 m spacing.
    count = round(span_m / 5) + 1
    # The stiffest smoother is a straight fit; on unit noise its rows are the noise's weights.
    weights = smooth(np.eye(count), np.ones(count), step_m=5, scale_m=1500, order=2)
    grade = (weights[-1] - weights[0]) / span_m
    assert 100 * np.sqrt((grade**2).sum()) == pytest.approx(percent, rel=0.02)


@pytest.mark.parametrize(
    ("ele", "risen_m"),
    [([], 0), ([5], 0), ([0, 0.8], 0.8), ([0, 0.8, 0, 0.8, 0], 0), ([0, 3, 2.5, 4, 1, 2], 5),
     ([2, 0, 0.6, 0.2, 3], 3)],
)  # fmt: skip
def test_ascent_by_hand(ele: list[float], risen_m: float) -> None:
    assert ascent_m(ele, least_m=1.0) == pytest.approx(risen_m)


@given(st.lists(st.floats(-50, 50), min_size=0, max_size=60), st.floats(0.1, 5))
def test_ascent_less_descent_is_the_net_rise(ele: list[float], least_m: float) -> None:
    up, down = ascent_m(ele, least_m=least_m), ascent_m(ele[::-1], least_m=least_m)
    assert up >= 0
    if ele:
        assert up - down == pytest.approx(ele[-1] - ele[0], abs=1e-9)
        assert up <= sum(max(0.0, b - a) for a, b in pairwise(ele)) + 1e-9


@given(st.integers(0, 30), st.floats(1, 50), st.sampled_from([2, 3]))
def test_smoothing_keeps_straight_lines_and_fills_holes(n: int, scale_m: float, order: int) -> None:
    line = np.linspace(3.0, 9.0, n)
    weights = np.ones(n)
    if n > 8:
        weights[3:5] = 0
    found = smooth(
        np.where(weights > 0, line, np.nan), weights, step_m=2, scale_m=scale_m, order=order
    )
    assert found == pytest.approx(line, abs=1e-4)


@pytest.mark.parametrize(("rows", "window"), [(5, 5), (40, 7), (301, 299), (200, 61)])
def test_sliding_quadratics_are_those_of_the_library(rows: int, window: int) -> None:
    # PyPI scipy, savgol_filter.
    line = np.random.default_rng(rows).normal(size=(rows, 2)).cumsum(axis=0)
    expected = savgol_filter(line, window, 2, axis=0, mode="interp")
    assert quadratics(line, window) == pytest.approx(expected, abs=1e-10)
