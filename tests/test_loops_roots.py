"""The order of roots against doing what its words say, one junction after another."""

from __future__ import annotations

from dataclasses import replace

import networkx as nx
import numpy as np
import pytest

from loops_help import question_of, random_terrain
from loops_tiny import MIX, ground, name, tiny_terrain
from loopwright.loops.further import Further
from loopwright.loops.graph import Sheet, sheet_of
from loopwright.loops.roots import root_order
from loopwright.model.ground import Terrain
from loopwright.model.ids import Ways

ASKED = question_of(MIX, low_m=250.0, high_m=450.0)


def laid_out(terrain: Terrain) -> Sheet:
    return sheet_of(terrain, ASKED, Further())


def joined(sheet: Sheet) -> nx.MultiGraph[int]:
    """Junctions and stretches, whichever way they may be ridden."""
    graph = sheet.graph
    found: nx.MultiGraph[int] = nx.MultiGraph()
    rows = np.column_stack((graph.stretch, graph.tail, graph.head)).tolist()
    for s, a, b in rows:
        if not found.has_edge(a, b, key=s) and not found.has_edge(b, a, key=s):
            found.add_edge(a, b, key=s)
    return found


def trimmed(graph: nx.MultiGraph[int]) -> nx.MultiGraph[int]:
    """Without dead ends, and what becomes one."""
    while ends := [node for node, degree in graph.degree if degree <= 1]:
        graph.remove_nodes_from(ends)
    return graph


@pytest.mark.parametrize("seed", range(40))
def test_the_busiest_junction_comes_first_and_dead_ends_go(seed: int) -> None:
    terrain = tiny_terrain(seed) if seed < 30 else random_terrain(seed, 30, rings=2, parallel=3)
    left, order = trimmed(joined(laid_out(terrain))), list[int]()
    while left:
        order.append(min(left, key=lambda node: (-left.degree[node], node)))
        left.remove_node(order[-1])
        left = trimmed(left)
    assert root_order(laid_out(terrain).graph, -1) == tuple(order)


def test_a_wished_start_is_the_only_root() -> None:
    graph = laid_out(ground()).graph
    assert [root_order(graph, start) for start in (0, 3)] == [(0,), (3,)]


@pytest.mark.parametrize("stretch", range(6))
def test_an_end_of_a_must_stretch_is_the_only_root(stretch: int) -> None:
    sheet = sheet_of(ground(), replace(ASKED, must=frozenset({name(stretch)})), Further())
    (root,) = root_order(sheet.graph, -1)
    known = ground().network.stretches[stretch]
    assert sheet.junctions[root] in {known.start, known.end}


def test_where_no_loop_is_there_is_no_root() -> None:
    tree = ground(**{name(i): {"ways": Ways.CLOSED} for i in (0, 3, 4)})
    open_ = [s for s in tree.network.stretches if s.ways is not Ways.CLOSED]
    bare = replace(tree, network=replace(tree.network, stretches=tuple(open_)))
    assert root_order(laid_out(bare).graph, -1) == ()
    assert np.unique(laid_out(bare).graph.stretch).size == 3
