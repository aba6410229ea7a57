"""Circle fits against published figures, curvature against geometry."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopwright.geo.circle import Method, fit_circle
from loopwright.geo.curvature import curvature, mean_over, menger, turning
from loopwright.model.arrays import Floats

SIX = np.array([(1, 7), (2, 6), (5, 8), (7, 7), (9, 5), (3, 7)], dtype=float)


def arc(radius_m: float, turn_deg: float, *, step_m: float = 1.0) -> Floats:
    count = max(3, round(radius_m * np.radians(turn_deg) / step_m) + 1)
    angle = np.linspace(0, np.radians(turn_deg), count)
    return radius_m * np.column_stack((np.sin(angle), 1 - np.cos(angle)))


@pytest.mark.parametrize(
    ("method", "radius_m"), [("pratt", 4.911302), ("taubin", 4.879212), ("hyper", 4.827575)]
)
def test_fits_of_six_points(method: Method, radius_m: float) -> None:
    # Points of Gander, Golub, Strebel 1994; values as Al-Sharadqah and Chernov 2009
    # (doi 10.1214/09-EJS419), computed independently.
    assert fit_circle(SIX, method=method).radius_m == pytest.approx(radius_m, abs=1e-6)


def test_algebraic_fits_lie_near_the_geometric_one() -> None:
    # Geometric fit of the same points, (4.739782, 2.983533), R 4.714226: from memory of
    # Gander, Golub, Strebel 1994.
    found = fit_circle(SIX)
    assert (found.x, found.y) == pytest.approx((4.739782, 2.983533), abs=0.25)
    assert found.radius_m == pytest.approx(4.714226, abs=0.15)


def test_a_short_noisy_arc_is_not_read_too_small() -> None:
    # The plainest (Kasa) fit reads 5.5 m here, computed independently.
    chance = np.random.default_rng(4)
    points = arc(10.0, 60.0)
    radii = [fit_circle(points + chance.normal(0, 0.5, points.shape)).radius_m for _ in range(300)]
    assert np.median(radii) == pytest.approx(10.0, rel=0.15)


@given(
    radius_m=st.floats(1, 500), turn_deg=st.floats(30, 359),
    x=st.floats(-5000, 5000), y=st.floats(-5000, 5000),
)  # fmt: skip
def test_points_on_a_circle_give_it(radius_m: float, turn_deg: float, x: float, y: float) -> None:
    angle = np.linspace(0, np.radians(turn_deg), 12)
    points = radius_m * np.column_stack((np.cos(angle), np.sin(angle))) + (x, y)
    found = fit_circle(points)
    assert found.radius_m == pytest.approx(radius_m, rel=1e-5)
    assert (found.x, found.y) == pytest.approx((x, y), abs=1e-4 * radius_m)


def test_what_is_no_circle() -> None:
    assert fit_circle(np.zeros((0, 2))).radius_m == np.inf
    assert fit_circle(np.ones((5, 2))).radius_m == np.inf
    assert fit_circle(np.array([(0.0, 0), (1, 1), (2, 2), (5, 5)])).radius_m > 1e6
    with pytest.raises(ValueError, match="finite"):
        fit_circle(np.array([(0.0, 0), (1, np.nan), (2, 2)]))


def test_menger_curvature_of_three_points() -> None:
    # Computed by hand: (0,0), (1,1), (2,0) lie on the unit circle about (1, 0).
    first, middle, last = np.array([(0.0, 0), (1, 1), (2, 0)])
    assert menger(first, middle, last) == pytest.approx(-1)
    assert menger(last, middle, first) == pytest.approx(1)
    assert menger(first, first, last) == 0


@given(radius_m=st.floats(3, 200), turn_deg=st.floats(20, 340))
def test_an_arc_has_its_curvature_and_turn(radius_m: float, turn_deg: float) -> None:
    line = arc(radius_m, turn_deg, step_m=radius_m / 40)
    assert curvature(line) == pytest.approx(1 / radius_m, rel=1e-3)
    assert curvature(line[::-1]) == pytest.approx(-1 / radius_m, rel=1e-3)
    # A line of n steps has n - 1 turns; half a step at each end turns no more.
    share = (len(line) - 2) / (len(line) - 1)
    assert turning(line).sum() == pytest.approx(share * np.radians(turn_deg))


def test_turning_passes_over_repeated_points() -> None:
    line = np.array([(0.0, 0), (1, 0), (1, 0), (1, 1), (1, 1)])
    assert turning(line) == pytest.approx([0, 0, np.pi / 2, 0, 0])
    assert curvature(np.zeros((2, 2))).tolist() == [0, 0]


def test_mean_over_keeps_constants_and_averages_within_the_line() -> None:
    dist = np.arange(0.0, 50.0, 2.5)
    assert mean_over(np.full(20, 3.0), dist, window_m=20) == pytest.approx(3)
    middle = mean_over(dist, dist, window_m=10)
    assert middle[5] == pytest.approx(dist[5])
    assert middle[0] == pytest.approx(2.5)
    assert mean_over(np.ones(1), np.zeros(1), window_m=5).tolist() == [1]
