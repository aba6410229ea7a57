"""The robust solver against closed forms."""

from __future__ import annotations

import numpy as np
import pytest

from loopwright.model.arrays import Floats
from loopwright.pacing.robust import clustered, solve, without

RNG = np.random.default_rng(5)
TABLE = RNG.standard_normal((80, 3)) * 3
TRUTH = np.array([0.5, -1.0, 0.8])
SEEN = TABLE @ TRUTH + 0.3 * RNG.standard_normal(80)


def misses(theta: Floats) -> Floats:
    return np.asarray(TABLE @ theta - SEEN)


def ridge(rows: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> Floats:
    """Closed form of least squares with a standard normal prior."""
    a, b = TABLE[rows], SEEN[rows]
    return np.asarray(np.linalg.solve(a.T @ a + np.eye(3), a.T @ b))


def test_small_misses_give_the_closed_form() -> None:
    solved = solve(misses, np.zeros(3))
    assert solved.theta == pytest.approx(ridge(np.ones(80, dtype=bool)), abs=0.01)


def test_outliers_hardly_move_the_answer() -> None:
    def spoilt(theta: Floats) -> Floats:
        out = misses(theta)
        out[:6] += 60.0
        return out

    clean = solve(misses, np.zeros(3)).theta
    assert np.abs(solve(spoilt, np.zeros(3)).theta - clean).max() < 0.15


def test_leaving_out_is_like_solving_again() -> None:
    mask = np.arange(80) < 20
    solved = solve(misses, np.zeros(3))
    assert without(solved, mask) == pytest.approx(ridge(~mask), abs=0.01)


def test_prior_alone_stands_where_nothing_is_seen() -> None:
    solved = solve(lambda theta: 0.0 * theta[:1], np.array([0.7, -0.4]))
    assert solved.theta == pytest.approx([0.0, 0.0], abs=1e-9)
    assert solved.inverse == pytest.approx(np.eye(2))


def test_residuals_that_hang_together_widen_the_spread() -> None:
    group = np.repeat(np.arange(8, dtype=np.int32), 10)
    solved = solve(misses, np.zeros(3))
    alone = clustered(solved, np.arange(80, dtype=np.int32))

    def pulled(theta: Floats) -> Floats:
        return np.asarray(
            misses(theta) + np.where(group % 2 == 0, 2.0, -2.0) * np.sign(TABLE[:, 0])
        )

    assert alone < 2
    assert clustered(solve(pulled, np.zeros(3)), group) > 2 * alone
