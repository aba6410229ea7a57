"""Where rides wander, small loops are errors; trails told apart and wide loops stay."""

from __future__ import annotations

import networkx as nx
import numpy as np
import pytest

from loopwright.model.arrays import Floats
from loopwright.network.detours import way_round
from loopwright.network.knots import drop_knots
from loopwright.network.web import Web
from test_network_repair import web_of

FOOT_M, WHEEL_M = 2.1, 1.6
"""How far somebody on foot wanders, and a rider."""


def bow(from_x: float, to_x: float, by_y: float) -> Floats:
    """A line between two places on the x axis, bowed out to ``by_y``."""
    share = np.linspace(0.0, 1.0, 21)
    xy = np.column_stack((from_x + share * (to_x - from_x), by_y * np.sin(np.pi * share)))
    return np.column_stack((xy, np.zeros(21)))


def walked(*lines: tuple[int, int, Floats, float]) -> Web:
    """Lines (node, node, places, passes)."""
    web = web_of(*(line[:3] for line in lines))
    for number, line in enumerate(lines):
        web.lines[number].passes = line[3]
    return web


def bubble(length: float, by_y: float, passes: tuple[float, float] = (6.0, 5.0)) -> Web:
    """A trail that shows as two for ``length`` metres, and its ends."""
    return walked(
        (0, 1, bow(-100.0, 0.0, 0.0), 10.0),
        (1, 2, bow(0.0, length, by_y), passes[0]),
        (1, 2, bow(0.0, length, -by_y), passes[1]),
        (2, 3, bow(length, length + 100.0, 0.0), 10.0),
    )


@pytest.mark.parametrize(
    ("length", "wander_m", "gone"),
    [(80.0, FOOT_M, 1), (100.0, FOOT_M, 0), (80.0, WHEEL_M, 0), (40.0, 1.85, 1), (50.0, 1.85, 0)],
)
def test_a_loop_is_doubtful_below_a_length_that_grows_with_wandering(
    length: float, wander_m: float, gone: int
) -> None:
    web = bubble(length, 3.0)
    assert drop_knots(web, wander_m) == gone
    assert len(web.lines) == 4 - gone


def test_the_line_fewer_walked_goes() -> None:
    web = bubble(60.0, 5.0, (4.0, 9.0))
    drop_knots(web, FOOT_M)
    assert sorted(line.passes for line in web.lines.values()) == [9.0, 10.0, 10.0]


@pytest.mark.parametrize(("passes", "gone"), [((6.0, 5.0), 0), ((6.0, 3.0), 1)])
def test_a_wide_loop_stays_when_several_walked_all_of_it(
    passes: tuple[float, float], gone: int
) -> None:
    # Two half circles of 28 m radius: 176 m round, 28 m wide by area against half the length.
    angle = np.linspace(0.0, np.pi, 41)
    half = np.column_stack((28.0 * (1 - np.cos(angle)), 28.0 * np.sin(angle), np.zeros(41)))
    web = walked(
        (0, 1, bow(-100.0, 0.0, 0.0), 10.0),
        (1, 2, half, passes[0]),
        (1, 2, half * [1.0, -1.0, 1.0], passes[1]),
        (2, 3, bow(56.0, 150.0, 0.0), 10.0),
    )
    assert drop_knots(web, FOOT_M) == gone


@pytest.mark.parametrize(("fewest", "gone"), [(6.0, 0), (3.0, 1)])
def test_a_wide_loop_of_several_lines_is_seen_all_round(fewest: float, gone: int) -> None:
    corner = [28.0 * np.array([np.cos(a), np.sin(a), 0.0]) for a in np.arange(5) * np.pi / 2]
    arcs = [np.linspace(0.0, np.pi / 2, 21) + k * np.pi / 2 for k in range(4)]
    rounds = [28.0 * np.column_stack((np.cos(a), np.sin(a), 0.0 * a)) for a in arcs]
    web = walked(
        (0, 1, rounds[0], 6.0),
        (2, 1, rounds[1][::-1], 6.0),
        (2, 3, rounds[2], 6.0),
        (0, 3, rounds[3][::-1], fewest),
        *((k, k + 4, np.linspace(corner[k], 5.0 * corner[k], 9), 1.0) for k in range(4)),
    )
    # Lone dead ends are looked at before, and tell nothing of loops.
    assert drop_knots(web, FOOT_M) == gone
    assert len(web.lines) == 8 - gone


@pytest.mark.parametrize(("length", "gone"), [(50.0, 1), (70.0, 0)])
def test_trails_told_apart_stay_where_there_is_room_to_tell_them(length: float, gone: int) -> None:
    web = bubble(length, 5.0)
    for line in web.lines.values():
        line.parted = True
    assert drop_knots(web, FOOT_M) == gone


def test_a_triangle_at_a_fork_loses_its_weakest_side() -> None:
    a, b, c = np.zeros(3), np.array([40.0, 0.0, 0.0]), np.array([20.0, 24.0, 0.0])
    sides = [(1, 2, a, b, 7.0), (2, 3, b, c, 3.0), (3, 1, c, a, 6.0)]
    out = [(1, 4, a, np.array([-90.0, -30.0, 0.0])), (2, 5, b, np.array([150.0, -30.0, 0.0])),
           (3, 6, c, np.array([20.0, 150.0, 0.0]))]  # fmt: skip
    web = walked(
        *((one, two, np.linspace(p, q, 9), passes) for one, two, p, q, passes in sides),
        *((one, two, np.linspace(p, q, 9), 9.0) for one, two, p, q in out),
    )
    assert drop_knots(web, FOOT_M) == 1
    assert 3.0 not in {line.passes for line in web.lines.values()}
    assert drop_knots(web, FOOT_M) == 0


def circle(radius: float) -> Floats:
    angle = np.linspace(0.0, 2 * np.pi, 81)
    return radius * np.column_stack((1 - np.cos(angle), np.sin(angle), np.zeros(81)))


@pytest.mark.parametrize(("radius", "closed"), [(14.0, 1), (29.0, 0), (40.0, 0)])
def test_a_ring_at_the_end_of_a_trail_is_its_way_out_and_back(radius: float, closed: int) -> None:
    web = walked((0, 1, bow(-100.0, 0.0, 0.0), 10.0), (1, 1, circle(radius), 6.0))
    assert drop_knots(web, FOOT_M) == closed
    assert (1 in [web.degree(node) for node in web.nodes if node > 1]) == bool(closed)
    ends = [web.nodes[node] for node in web.nodes if web.degree(node) == 1]
    assert ([2 * radius, 0.0] in [place[:2].round(6).tolist() for place in ends]) == bool(closed)


def test_a_small_ring_where_trails_meet_goes() -> None:
    web = walked(
        (0, 1, bow(-100.0, 0.0, 0.0), 10.0),
        (1, 1, circle(14.0), 6.0),
        (1, 2, bow(0.0, 150.0, 0.0), 10.0),
    )
    assert drop_knots(web, FOOT_M) == 1
    assert sorted(web.lines) == [0, 2]


def test_the_way_round_is_the_shortest_and_told_from_end_to_start() -> None:
    web = walked(
        (0, 1, bow(0.0, 50.0, 0.0), 1.0),
        (1, 2, bow(50.0, 90.0, 0.0), 1.0),
        (0, 2, bow(0.0, 90.0, 40.0), 1.0),
        (1, 2, bow(50.0, 90.0, 30.0), 1.0),
    )
    assert way_round(web, 0, 400.0) == [1, 2]
    size = web.lines[1].length_m + web.lines[2].length_m
    assert way_round(web, 0, size + 0.01) == [1, 2]
    assert way_round(web, 0, size - 0.01) is None
    assert way_round(web, 0, -1.0) is None
    web.add_line(0, 2, bow(0.0, 90.0, 60.0))  # found first, and longer than by way of two
    web.add_line(0, 1, bow(0.0, 50.0, 1.0))
    assert way_round(web, 2, 400.0) == [1, 0]
    web.drop_line(4)
    web.drop_line(5)
    web.drop_line(1)
    assert way_round(web, 0, 400.0) == [3, 2]
    web.drop_line(3)
    assert way_round(web, 0, 1e9) is None
    ring = walked((0, 0, bow(0.0, 0.0, 5.0), 1.0))
    assert way_round(ring, 0, 10.0) == []


@pytest.mark.parametrize("seed", range(6))
def test_ways_round_are_as_long_as_a_reference_library_finds(seed: int) -> None:
    """Source: PyPI ``networkx``, Dijkstra on random graphs with parallel lines."""
    draw = np.random.default_rng(seed)
    places = draw.uniform(0.0, 300.0, (9, 2))
    ends = draw.integers(0, 9, (22, 2)).tolist()
    web = Web()
    graph: nx.MultiGraph[int] = nx.MultiGraph()
    for node, place in enumerate(places):
        web.add_node(node, np.append(place, 0.0))
    for a, b in ends:
        side = draw.normal(0.0, 30.0, 3) * np.array([1.0, 1.0, 0.0])
        way = np.array([web.nodes[a], (web.nodes[a] + web.nodes[b]) / 2 + side, web.nodes[b]])
        number = web.add_line(a, b, way)
        graph.add_edge(a, b, key=number, weight=web.lines[number].length_m)
    for number, line in web.lines.items():
        rest = graph.copy()
        rest.remove_edge(line.a, line.b, key=number)
        way_m = nx.single_source_dijkstra_path_length(rest, line.a).get(line.b)
        steps = way_round(web, number, 1e9)
        assert (steps is None) == (way_m is None)
        if steps is not None:
            assert sum(web.lines[k].length_m for k in steps) == pytest.approx(way_m)
