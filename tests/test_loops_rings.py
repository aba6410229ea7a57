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
