"""The quick first search against every loop of tiny networks: where it is wide enough it finds
the best of each number of stretches; where not, it keeps the paths that are most above the pace.
"""

from __future__ import annotations

import numpy as np
import pytest

from loops_help import question_of, terrain_of
from loops_tiny import (
    everywhere,
    loops_from,
    nearest,
    roots,
    tiny_sheet,
    ways,
)
from loopwright.loops import quick
from loopwright.loops.further import Further
from loopwright.loops.graph import Sheet, sheet_of
from loopwright.loops.roots import root_order
from loopwright.model.wishes import Mix

SEEDS = range(36)


def plain(seed: int) -> Sheet:
    """A tiny sheet whose loops ride no stretch again and have no foes."""
    sheet = tiny_sheet(seed)
    none = np.zeros(sheet.graph.tail.size + 1, np.int32)
    graph = sheet.graph._replace(foe_first=none, foe=none[:0])
    return Sheet(
        graph=graph, rule=sheet.rule._replace(repeats=0), arcs=sheet.arcs,
        junctions=sheet.junctions, start=sheet.start, hopeless=sheet.hopeless,
    )  # fmt: skip


SHEETS = {seed: plain(seed) for seed in SEEDS}


@pytest.mark.parametrize("seed", SEEDS)
def test_links_side_by_side_are_those_in_a_row(seed: int) -> None:
    graph = SHEETS[seed].graph
    padded = quick.padded_links(graph)
    for a in range(graph.tail.size):
        row = list(range(graph.first[a], graph.first[a + 1]))
        assert padded[a].tolist() == row + [-1] * (padded.shape[1] - len(row))
    assert padded.shape[1] == max(1, np.diff(graph.first).max())


@pytest.mark.parametrize("seed", SEEDS)
def test_the_way_home_is_the_shortest(seed: int) -> None:
    graph = SHEETS[seed].graph
    for root in roots(SHEETS[seed]):
        every = np.ones(graph.tail.size, np.bool_)
        reach = np.flatnonzero(graph.head == root)
        want = nearest(graph, ways(graph, every, back=True), reach) - graph.length
        got = quick.ways_home(graph, quick.padded_links(graph), root)
        np.testing.assert_allclose(got, want, atol=1e-9)


@pytest.mark.parametrize("seed", SEEDS)
def test_the_best_loop_of_each_number_of_stretches_is_met(seed: int) -> None:
    sheet = SHEETS[seed]
    for root in roots(sheet):
        best: dict[int, float] = {}
        for loop in loops_from(sheet.graph, sheet.rule, root, everywhere(sheet)):
            size = len(loop.arcs)
            best[size] = max(best.get(size, -np.inf), loop.score)
        found = list(quick.from_root(sheet, quick.padded_links(sheet.graph), root))
        assert {len(arcs): score for score, arcs in found} == pytest.approx(best)


def test_of_too_many_paths_the_ones_most_above_the_pace_are_kept(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The pace is 85 points on the longest lap of 500 m: 17 on 100 m; half the way home counts.

    After a first stretch of 100 m without points, three ways on: 25 points on 100 m and then 100 m
    home (17.5 behind the pace), 60 on 300 m and 100 m home (16.5), 42.5 on 100 and 300 m home (17).
    """
    spots = np.array([[0.0, 0.0], [9.0, 0.0], [0.0, 9.0], [5.0, 5.0]])
    ends = [(0, 1), (1, 2), (1, 2), (1, 3), (2, 0), (3, 0)]
    lengths = [100.0, 100.0, 300.0, 100.0, 100.0, 300.0]
    terrain = terrain_of(np.random.default_rng(1), spots, np.zeros(4), ends, lengths, one_way=1.0)
    mix = Mix(name="one", targets={"corners": 100.0})
    sheet = sheet_of(terrain, question_of(mix, low_m=1.0, high_m=500.0), Further())
    corners = np.array([0.0, 25.0, 60.0, 42.5, 0.0, 0.0])
    sheet.graph.worth[:, 0] = corners
    sheet.graph.link_worth[:] = 0.0
    padded = quick.padded_links(sheet.graph)
    home = quick.ways_home(sheet.graph, padded, 0)
    beam = quick.first_arcs(sheet.graph, np.array([0], np.int32))
    for width, kept in ((1, [2]), (2, [2, 3]), (3, [2, 3, 1])):
        monkeypatch.setattr(quick, "WIDTH", width)
        wide = quick.wider(sheet, padded, beam, home)
        assert wide.arcs.tolist() == [[0, a] for a in kept]
        assert wide.length.tolist() == [100.0 + lengths[a] for a in kept]
        assert wide.worth.tolist() == [[corners[a]] for a in kept]
        assert [np.flatnonzero(row).tolist() for row in wide.ridden] == [[0, a] for a in kept]
    sheet.graph.worth[1, 0] = 27.0
    assert quick.wider(sheet, padded, beam, home).arcs[:, 1].tolist() == [1, 2, 3]
    sheet.graph.worth[2, 0] = 1000.0  # more than is wished is worth no more than 100
    sheet.graph.worth[3, 0] = 1000.0
    wide = quick.wider(sheet, padded, beam, home)
    assert wide.arcs[:, 1].tolist() == [3, 2, 1]


def test_where_nothing_leads_on_nothing_is_found() -> None:
    spots = np.array([[0.0, 0.0], [9.0, 0.0]])
    rng = np.random.default_rng(1)
    terrain = terrain_of(rng, spots, np.zeros(2), [(0, 1)], [100.0], one_way=1.0)
    sheet = sheet_of(terrain, question_of(low_m=1.0, high_m=500.0), Further())
    padded = quick.padded_links(sheet.graph)
    assert padded.tolist() == [[-1]]
    assert list(quick.from_root(sheet, padded, 0)) == []


def test_roots_all_over_the_order_are_tried() -> None:
    """Each of up to twelve roots when there are no more; else twelve, evenly spread."""
    for seed in SEEDS:
        sheet = SHEETS[seed]
        order = root_order(sheet.graph, sheet.start)
        padded, scores = quick.padded_links(sheet.graph), list[float]()
        for root in order:
            scores += [score for score, _ in quick.from_root(sheet, padded, root)]
        ticks: list[int] = []
        loops = list(quick.quick_loops(sheet, lambda: ticks.append(1)))  # noqa: B023 - used at once
        assert len(ticks) == len(scores)
        better = [s for i, s in enumerate(scores) if s > max(scores[:i], default=-np.inf)]
        assert len(loops) == len(better)


def test_of_many_roots_twelve_are_tried(monkeypatch: pytest.MonkeyPatch) -> None:
    tried: list[int] = []

    def from_root(_sheet: Sheet, _padded: object, root: int) -> tuple[()]:
        tried.append(root)
        return ()

    monkeypatch.setattr(quick, "from_root", from_root)
    monkeypatch.setattr(quick, "root_order", lambda *_: tuple(range(100, 136)))
    assert list(quick.quick_loops(SHEETS[0], lambda: None)) == []
    assert tried == list(range(100, 136, 3))
