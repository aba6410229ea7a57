"""How many loops ground holds; counts are Euler's circuit rank, worked out by hand."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from features_help import network_of, path
from loopwright.loops.rings import rings_of
from loopwright.model.network import Network


def square(*more: tuple[tuple[float, float], ...]) -> Network:
    corners = [(0.0, 0.0), (200.0, 0.0), (200.0, 200.0), (0.0, 200.0), (0.0, 0.0)]
    sides = [path(a, b) for a, b in pairwise(corners)]
    return network_of(*sides, *(path(*line) for line in more))


def test_a_line_holds_no_loop_and_its_ends_are_too_far_apart() -> None:
    found = rings_of(network_of(path((0, 0), (900, 0))))
    assert (found.loops, found.connector) == (0, None)
    assert found.outside_m == pytest.approx(900)


def test_loops_are_counted_with_and_without_a_diagonal() -> None:
    assert rings_of(square()).loops == 1
    assert rings_of(square(((0, 0), (200, 200)))).loops == 2
    assert rings_of(square()).outside_m == 0


def test_two_ways_between_the_same_junctions_are_a_loop() -> None:
    found = rings_of(network_of(path((0, 0), (200, 0)), path((0, 0), (100, 60), (200, 0))))
    assert (found.loops, found.outside_m) == (1, 0)


def test_the_connector_that_opens_most_trail_is_named() -> None:
    # Two spurs 500 m long, their ends 60 m apart: 60 m of new trail bring 1,000 m into loops.
    spurs = square(((200, 0), (700, 70)), ((200, 200), (700, 130)))
    found = rings_of(spurs)
    assert found.loops == 1
    assert found.connector is not None
    assert found.connector.length_m == pytest.approx(60, abs=1)
    assert found.connector.opens_m == pytest.approx(1010, abs=10)
    assert sorted(found.connector.xy[:, 1].round().tolist()) == [70, 130]


def test_a_spur_that_leads_back_by_its_own_way_needs_no_line() -> None:
    assert rings_of(square(((200, 0), (1200, 0)))).connector is None


def test_an_empty_network_holds_nothing() -> None:
    empty = Network(origin=square().origin, stretches=(), junctions=())
    found = rings_of(empty)
    assert (found.loops, found.outside_m, found.connector) == (0, 0, None)
    assert np.isfinite(found.outside_m)


def test_trail_that_lies_in_a_loop_already_is_not_opened_again() -> None:
    """A spur 60 m beside the far side of the square: only the spur itself comes into a loop."""
    found = rings_of(square(((200, 200), (500, 500), (260, 100))))
    assert found.connector is not None
    assert found.connector.length_m == pytest.approx(60, abs=1)
    spur = found.outside_m
    assert found.connector.opens_m == pytest.approx(spur, abs=1)


def spurs(left: float, right: float, more: float = 0.0, *, turned: bool = False) -> Network:
    """A square of 200 m with two spurs straight down, the right one ``more`` metres longer."""
    lines = [
        ((0.0, 0.0), (left, -100.0), (left, -3000.0)),
        ((200.0, 0.0), (right, -100.0), (right, -3000.0 - more)),
    ]
    return square(*(line[::-1] if turned else line for line in lines))


@pytest.mark.parametrize(
    ("gap", "named"), [(14.5, False), (15.0, True), (400.0, True), (400.5, False)]
)
def test_a_connector_is_no_shorter_and_no_longer_than_is_said(gap: float, *, named: bool) -> None:
    found = rings_of(spurs(100 - gap / 2, 100 + gap / 2)).connector
    assert (found is not None) is named
    assert found is None or found.length_m == gap


@pytest.mark.parametrize("turned", [False, True])
def test_a_connector_opens_the_spurs_up_to_where_it_meets_them(*, turned: bool) -> None:
    """From the end of the shorter spur across to the longer one, 100 m before its end."""
    found = rings_of(spurs(60.0, 140.0, 100.0, turned=turned)).connector
    assert found is not None
    assert found.xy.tolist() == [[60.0, -3000.0], [140.0, -3000.0]]
    slanted = 20.0 * np.sqrt(3.0**2 + 5.0**2)
    assert found.opens_m == pytest.approx(2 * slanted + 2 * 2900.0)


@pytest.mark.parametrize(("end", "named"), [(100.0, True), (101.0, False)])
def test_a_metre_of_connector_has_to_open_three_of_trail(end: float, *, named: bool) -> None:
    """A spur of 150 m (149) whose end is 50 m from the square's side."""
    found = rings_of(square(((200.0, 200.0), (250.0, 200.0), (250.0, end))))
    assert (found.connector is not None) is named
    assert found.outside_m == pytest.approx(250.0 - end)


def test_trail_that_hangs_together_with_none_of_the_rest_is_not_led_to() -> None:
    """Two lines 60 m beside a spur: joined at one place only, neither lies in a loop after."""
    lone = path((260.0, 400.0), (260.0, 900.0)), path((140.0, 400.0), (140.0, 900.0))
    spur = path((200.0, 200.0), (200.0, 900.0))
    sides = [s.xy for s in square().stretches]
    assert rings_of(network_of(lone[0], *sides, spur, lone[1])).connector is None
    second = path((0.0, 200.0), (0.0, 900.0))
    found = rings_of(network_of(lone[0], *sides, spur, lone[1], second)).connector
    assert found is not None
    assert found.length_m == 200.0
