"""Vectors of the ground plan, many at once.

Source: scalar product and polar angle as numpy computes them, on random vectors.
"""

from __future__ import annotations

import numpy as np
import pytest

from loopwright.geo.planar import dots, left_of, unit

SOME = np.random.default_rng(5).normal(size=(40, 2))
OTHERS = np.random.default_rng(6).normal(size=(40, 2))


def test_products_are_those_of_numpy() -> None:
    assert dots(SOME, OTHERS) == pytest.approx(np.diag(SOME @ OTHERS.T))


def test_products_of_all_with_all() -> None:
    table = dots(SOME[:, None, :], OTHERS[None, :, :])
    assert table.shape == (40, 40)
    assert table == pytest.approx(SOME @ OTHERS.T)


def test_a_unit_vector_keeps_its_direction() -> None:
    made = unit(SOME)
    assert np.hypot(*made.T) == pytest.approx(1.0)
    assert np.arctan2(*made.T) == pytest.approx(np.arctan2(*SOME.T))


def test_no_vector_points_east() -> None:
    assert unit(np.zeros((1, 2))).tolist() == [[1.0, 0.0]]


def test_left_is_a_quarter_turn_anticlockwise() -> None:
    assert left_of(np.array([[1.0, 0.0], [0.0, 1.0]])).tolist() == [[0.0, 1.0], [-1.0, 0.0]]
    assert dots(left_of(SOME), SOME) == pytest.approx(0.0)
    turn = np.angle(np.exp(1j * (np.arctan2(*left_of(SOME).T[::-1]) - np.arctan2(*SOME.T[::-1]))))
    assert turn == pytest.approx(np.pi / 2)
