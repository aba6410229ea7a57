"""Labels keep apart: on the map in two dimensions, over the profile in one."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import isotonic_regression

from loopwright.card.boxes import Box
from loopwright.card.labels import place_labels, spread
from loopwright.model.arrays import Floats

PAGE = Box(left=0, top=0, width=130, height=80)


def line_through(places: Floats) -> Floats:
    return np.vstack([np.linspace(a, b, 40) for a, b in pairwise(places)])


def clashes(centres: Floats, sizes: Floats) -> int:
    gap = np.abs(centres[:, None] - centres[None])
    near = (gap < (sizes[:, None] + sizes[None]) / 2 - 1e-9).all(axis=2)
    return int((near.sum() - len(centres)) // 2)


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10_000), st.integers(2, 40))
def test_labels_keep_apart_and_on_the_map(seed: int, count: int) -> None:
    dice = np.random.default_rng(seed)
    places = dice.uniform((15, 12), (115, 68), (count, 2))
    sizes = np.full((count, 2), 4.0)
    centres = place_labels(places, sizes, line=line_through(places), box=PAGE)
    assert clashes(centres, sizes) == 0
    assert (centres >= 2).all()
    assert (centres <= (128, 78)).all()


def test_labels_keep_clear_of_blocked_boxes_and_stay_near() -> None:
    places = np.array([(30.0, 40.0), (31.0, 40.0)])
    wall = Box(left=31, top=20, width=60, height=40)
    centres = place_labels(places, np.full((2, 2), 4.0), line=places, box=PAGE, blocked=(wall,))
    assert (centres[:, 0] <= 29.0).all() | (np.abs(centres[:, 1] - 40) >= 22).any()
    assert np.hypot(*(centres - places).T).max() < 20


def test_a_lone_label_lies_beside_the_line_not_on_it() -> None:
    line = np.column_stack((np.linspace(0, 130, 400), np.full(400, 40.0)))
    centre = place_labels(np.array([(65.0, 40.0)]), np.full((1, 2), 4.0), line=line, box=PAGE)
    assert abs(centre[0, 1] - 40) > 2.5


def test_no_labels_no_places() -> None:
    assert place_labels(np.zeros((0, 2)), np.zeros((0, 2)), line=PAGE.corners(), box=PAGE).size == 0


@settings(max_examples=80, deadline=None)
@given(st.lists(st.floats(0, 100), min_size=1, max_size=30), st.floats(0.1, 3))
def test_spread_agrees_with_isotonic_regression(wanted: list[float], gap: float) -> None:
    # Reference library: scipy.optimize.isotonic_regression.
    places = np.sort(np.array(wanted))
    steps = np.arange(len(places)) * gap
    expected = isotonic_regression(places - steps).x + steps
    assert spread(places, gap, low=-1e3, high=1e3) == pytest.approx(expected)


@settings(max_examples=80, deadline=None)
@given(st.lists(st.floats(0, 100), min_size=1, max_size=30))
def test_spread_keeps_order_gap_and_ends(wanted: list[float]) -> None:
    places = spread(np.sort(np.array(wanted)), 3.0, low=2.0, high=98.0)
    assert (np.diff(places) >= 3.0 - 1e-9).all()
    assert places[0] >= 2.0 - 1e-9
    assert places[-1] <= 98.0 + 1e-9


def test_spread_says_when_there_is_no_room() -> None:
    with pytest.raises(ValueError, match="do not fit"):
        spread(np.zeros(5), 3.0, low=0.0, high=10.0)
