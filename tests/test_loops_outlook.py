"""Looking round from the path's end: what it can reach, and how often junctions are passed."""

from __future__ import annotations

import networkx as nx
import numpy as np
import pytest

from loops_help import question_of, random_terrain
from loops_tiny import (
    everywhere,
    loops_from,
    near,
    place_of,
    ridden_path,
    roots,
    small_sheet,
    tiny_sheet,
)
from loopwright.loops import hunt as room
from loopwright.loops.crew import Crew
from loopwright.loops.dive import flood, floods, outlook
from loopwright.loops.further import Further
from loopwright.loops.graph import sheet_of
from loopwright.loops.hunt import Hunt
from loopwright.loops.near import gates
from loopwright.loops.roots import root_order
from loopwright.loops.shapes import Local, Path, Rule, Tables
from loopwright.loops.tables import build_tables, is_tight, most_at_last, richest
from loopwright.model.wishes import Mix

SHEETS = {seed: tiny_sheet(seed) for seed in range(36)}
SHEETS |= {100 + seed: small_sheet(seed) for seed in range(4)}
SHEETS = {seed: sheet for seed, sheet in SHEETS.items() if sheet.rule.repeats == 0}


def tables_of(local: Local, rule: Rule) -> Tables:
    flat = np.zeros((1, rule.most.size + rule.room.size + local.stretches))
    return build_tables(local, rule, flat, rule.cap / 20)


def passes(local: Local, arcs: list[int]) -> np.ndarray:
    """(g,) how often arcs lead to each numbered junction."""
    gate = local.gate[arcs]
    return np.bincount(gate[gate >= 0], minlength=local.limit.size)


@pytest.mark.parametrize("seed", SHEETS)
def test_no_loop_passes_a_junction_more_often_than_its_ways_allow(seed: int) -> None:
    sheet = SHEETS[seed]
    for root in roots(sheet):
        local = near(sheet, root)
        for loop in list(loops_from(sheet.graph, sheet.rule, root, everywhere(sheet)))[:40]:
            assert (passes(local, place_of(local, loop.arcs)) <= local.limit).all()


@pytest.mark.parametrize("seed", SHEETS)
def test_a_junction_is_numbered_where_an_end_of_a_stretch_must_stay_unridden(seed: int) -> None:
    """Counted by ends: of a stretch both ways each arc brings one, of a one-way arc both count."""
    sheet = SHEETS[seed]
    for root in roots(sheet)[:3]:
        local = near(sheet, root)
        tail, head = sheet.graph.tail[local.arc], sheet.graph.head[local.arc]
        for j in set(tail) | set(head):
            both = sum(1 for a in range(head.size) if head[a] == j)
            ends = both + sum(1 for a in range(head.size) if tail[a] == j and local.twin[a] < 0)
            most = min(ends // 2, both, int((tail == j).sum()))
            numbers = set(local.gate[head == j].tolist())
            if 2 * most == ends:
                assert numbers <= {-1}
            elif numbers:
                (number,) = numbers
                assert local.limit[number] == most
        assert sorted(set(local.gate[local.gate >= 0].tolist())) == sorted(
            set(local.gate.tolist()) - {-1}
        )


def test_where_one_way_trails_leave_more_than_come_a_lap_passes_as_often_as_it_can_come() -> None:
    """One way in and three out, and the same at the other end; worked out by hand."""
    tail, head = (
        np.array([0, 1, 1, 1, 2, 3, 4], np.int32),
        np.array([1, 2, 3, 4, 0, 0, 0], np.int32),
    )
    graph = SHEETS[100].graph._replace(tail=tail, head=head)
    none = np.full(7, -1, np.int32)
    gate, limit = gates(graph, np.arange(7, dtype=np.int32), none)
    assert gate.tolist() == [1, -1, -1, -1, 0, 0, 0]
    assert limit.tolist() == [1, 1]


def free_ways(local: Local, path: Path, arcs: list[int]) -> nx.DiGraph[int]:
    """Arcs that can still follow, as nodes; an edge where one may follow the other."""
    ridden = set(arcs) | {int(local.twin[a]) for a in arcs}
    full = {g for g in range(local.limit.size) if path.passed[g] >= local.limit[g]}
    line: nx.DiGraph[int] = nx.DiGraph()
    line.add_node(arcs[-1])
    for a in range(local.arc.size):
        for e in range(local.first[a], local.first[a + 1]):
            b = int(local.succ[e])
            shut = b in ridden or path.barred[b] or int(local.gate[b]) in full
            if not shut:
                line.add_edge(a, b)
    return line


@pytest.mark.parametrize("seed", SHEETS)
def test_what_can_still_be_reached_and_what_it_can_bring(seed: int) -> None:
    """Reachable arcs by networkx; the bound added up anew; never below the loop being ridden."""
    sheet = SHEETS[seed]
    rule = sheet.rule
    kinds = rule.most.size
    for root in roots(sheet):
        local = near(sheet, root)
        tables = tables_of(local, rule)
        closes = np.diff(local.close_first) > 0
        for loop in list(loops_from(sheet.graph, rule, root, everywhere(sheet)))[:6]:
            arcs = place_of(local, loop.arcs)
            for depth in range(1, len(arcs) + 1):
                path = ridden_path(local, rule, tables, arcs[:depth])
                want = nx.descendants(free_ways(local, path, arcs[:depth]), arcs[depth - 1])
                for _ in range(2):  # a second flood is not misled by the first
                    count, home = flood(local, rule, path)
                    assert set(path.queue[:count].tolist()) == want
                    assert count == len(want)
                    assert home == (closes[arcs[depth - 1]] or any(closes[a] for a in want))
                seen = {int(local.stretch[a]): a for a in want}
                sums = tables.rich[list(seen.values())].sum(axis=0)
                worth = path.worth[depth] + tables.last + sums[:kinds]
                far = path.length[depth] + local.home[arcs[depth - 1]]
                bound = np.minimum(rule.most, worth).sum() - rule.price * max(rule.least, far)
                assert (path.load[depth] + sums[kinds:] <= rule.room + 1e-9).all()
                assert outlook(local, rule, tables, path) == pytest.approx(bound)
                assert bound >= loop.score - 1e-9


def test_it_looks_round_at_every_third_arc_where_ground_is_tight() -> None:
    rule = SHEETS[100].rule
    tables = tables_of(near(SHEETS[100], 0), rule)
    for tight, repeats, want in ((True, 0, [1, 4, 7]), (False, 0, []), (True, 1, [])):
        now = tables._replace(tight=tight), rule._replace(repeats=repeats)
        assert [depth for depth in range(9) if floods(now[1], now[0], depth)] == want


@pytest.mark.parametrize("seed", list(SHEETS)[::4])
def test_where_too_little_is_left_for_the_shortest_lap_nothing_is_looked_for(seed: int) -> None:
    sheet = SHEETS[seed]
    for root in roots(sheet):
        local = near(sheet, root)
        tables = tables_of(local, sheet.rule)
        for loop in list(loops_from(sheet.graph, sheet.rule, root, everywhere(sheet)))[:2]:
            arcs = place_of(local, loop.arcs)
            path = ridden_path(local, sheet.rule, tables, arcs[:1])
            count, _ = flood(local, sheet.rule, path)
            left = {int(local.stretch[a]): local.load[a, 0] for a in path.queue[:count]}
            least = path.load[1, 0] + sum(left.values())
            for room_, cut in ((least + 1e-6, False), (least - 1e-6, True)):
                rule = sheet.rule._replace(room=np.array([room_]), least=0.0)
                assert (outlook(local, rule, tables, path) == -np.inf) == cut


def test_a_path_that_fenced_itself_off_has_no_outlook() -> None:
    """Three ways meet at each end of a bridge: over it and back is no lap."""
    sheet = SHEETS[100]
    rule = sheet.rule
    shut = 0
    for root in roots(sheet):
        local = near(sheet, root)
        tables = tables_of(local, rule)
        for loop in list(loops_from(sheet.graph, rule, root, everywhere(sheet)))[:6]:
            arcs = place_of(local, loop.arcs)
            path = ridden_path(local, rule, tables, arcs[:1])
            free = [
                a for a in range(local.arc.size) if local.close_first[a + 1] > local.close_first[a]
            ]
            path.barred[free] = 1
            if arcs[0] not in free:
                assert outlook(local, rule, tables, path) == -np.inf
                shut += 1
    assert shut > 3


@pytest.mark.parametrize("seed", SHEETS)
def test_the_most_a_stretch_can_bring(seed: int) -> None:
    sheet = SHEETS[seed]
    local, rng = near(sheet, 0), np.random.default_rng(seed)
    local = local._replace(load=rng.normal(0.0, 9.0, (local.arc.size, 2)))
    rich, last = richest(local), most_at_last(local)
    for a in range(local.arc.size):
        both = [a] if local.twin[a] < 0 else [a, int(local.twin[a])]
        into = {b: np.flatnonzero(local.succ == b) for b in both}
        best = [local.worth[b] + local.link_worth[into[b]].max(axis=0, initial=0.0) for b in both]
        load = [np.minimum(0.0, local.load[b]) for b in both]
        np.testing.assert_allclose(rich[a], [*np.max(best, axis=0), *np.min(load, axis=0)])
    np.testing.assert_allclose(last, local.close_worth.max(axis=0, initial=0.0))


@pytest.mark.parametrize("seed", [100, *list(SHEETS)[:8]])
def test_ground_is_tight_when_the_trail_near_a_root_is_at_most_three_laps(seed: int) -> None:
    sheet = SHEETS[seed]
    local = near(sheet, 0)
    first = {int(s): float(x) for s, x in zip(local.stretch, local.length, strict=True)}
    total = sum(first.values())
    assert is_tight(local, sheet.rule._replace(cap=total / 3 + 1e-6))
    assert not is_tight(local, sheet.rule._replace(cap=total / 3 - 1e-6))


STEADY = Mix(name="most of it", targets={"steady_m": 9000.0})
HARD = tuple(range(6))


def proving(seed: int, turns: int) -> Hunt:
    """A lap that would take more than there is: hardly a stretch can be left out."""
    terrain = random_terrain(seed, 34, one_way=0.0, passages=0.0, banned=0.0)
    sheet = sheet_of(terrain, question_of(STEADY, low_m=300.0, high_m=9000.0), Further())
    order = root_order(sheet.graph, sheet.start)
    with Crew(1, lambda: None) as crew:
        hunt = Hunt(sheet.graph, sheet.rule, order, roam=True, tops=[100.0] * len(order), crew=crew)
        hunt.run(0.01, turns=turns)
    return hunt


def test_a_lap_that_wants_nearly_all_there_is_gets_proven() -> None:
    hunts = [proving(seed, 12) for seed in HARD]
    assert [hunt.bound - hunt.best <= 0.0101 for hunt in hunts] == [True] * len(HARD)
    assert any(root.rounds for hunt in hunts for root in hunt.roots)


def test_without_thorough_tuning_and_looking_round_it_does_not(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    whole = [proving(seed, 4) for seed in HARD]
    monkeypatch.setattr(room, "MOST_ROUNDS", 0)
    monkeypatch.setattr(
        room, "build_tables", lambda *given: build_tables(*given)._replace(tight=False)
    )
    bare = [proving(seed, 4) for seed in HARD]
    gaps = [np.mean([h.bound - h.best for h in hunts]) for hunts in (whole, bare)]
    assert gaps[0] < 0.5 * gaps[1]
