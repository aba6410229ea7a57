"""Tiny odd networks for looking into the search, and slow plain answers about them.

The answers owe nothing to the kernels: shortest ways come from networkx, loops from walking on
until the lap is too long, sums from adding up.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import networkx as nx
import numpy as np

from loops_help import question_of, random_terrain, terrain_of
from loopwright.loops.dive import ride
from loopwright.loops.further import Further
from loopwright.loops.graph import Sheet, sheet_of
from loopwright.loops.hunt import fresh_path
from loopwright.loops.near import localise
from loopwright.loops.shapes import Buckets, Graph, Local, Path, Rule, Stride, Tables
from loopwright.loops.tune import ranges
from loopwright.model.ground import Terrain
from loopwright.model.ids import Arc, StretchId, Way
from loopwright.model.wishes import Mix, Question

MIX = Mix(
    name="odd", targets={"climb_gain_m": 30.0, "corners": 5.0, "steady_m": 200.0},
    weights={"corners": 1.5},
)  # fmt: skip
HIGHS = (300.0, 700.0, 1000.0)
SIZES = (3.0, 12.0, 100.0, 100.0, 150.0, 333.3)


def tiny_terrain(seed: int) -> Terrain:
    """Two to five junctions, three to six stretches: rings, parallels, one-ways, bans."""
    rng = np.random.default_rng(seed)
    spots, count = int(rng.integers(2, 6)), int(rng.integers(3, 7))
    ends = [(int(a), int(b)) for a, b in rng.integers(0, spots, size=(count, 2))]
    lengths = [float(x) for x in rng.choice(SIZES, size=count)]
    points = rng.random((spots, 2)) * 500
    return terrain_of(
        rng, points, rng.random(spots) * 60, ends, lengths,
        one_way=0.3 * (seed % 3 == 1), passages=0.4, banned=0.1,
    )  # fmt: skip


def tiny_question(terrain: Terrain, seed: int) -> Question:
    """Window and repeats by turns; on every fourth, stretches that some loop rides are musts."""
    high = HIGHS[2 if seed % 4 == 3 else seed % 3]
    low = high * (0.01, 0.5, 0.9)[0 if seed % 4 == 3 else seed // 3 % 3]
    question = question_of(MIX, low_m=low, high_m=high)
    wishes = replace(question.wishes, repeats=(0, 0, 1, seed // 4 % 3)[seed % 4])
    question = replace(question, wishes=wishes)
    if seed % 4 != 3:
        return question
    sheet = sheet_of(terrain, question, Further())
    longest = max(all_loops(sheet), key=lambda loop: len(set(loop.arcs)), default=None)
    if longest is None:
        return question
    stretches = [sheet.arcs[a][0] for a in longest.arcs]
    return replace(question, must=frozenset({stretches[0], stretches[-1]}))


def tiny_sheet(seed: int) -> Sheet:
    """A tiny question laid out; on every fifth, the two ends of its best loop are foes."""
    terrain = tiny_terrain(seed)
    question = tiny_question(terrain, seed)
    free = sheet_of(terrain, question, Further())
    if seed % 5 != 4:
        return free
    best = max(all_loops(free), key=lambda loop: loop.score, default=None)
    if best is None or len(best.arcs) < 2:
        return free
    pair = free.arcs[best.arcs[0]], free.arcs[best.arcs[-1]]
    return sheet_of(terrain, question, Further(apart=frozenset({pair})))


def small_sheet(seed: int) -> Sheet:
    """Ten or thirteen stretches, a ring and a parallel among them: enough for bounds to cut."""
    terrain = random_terrain(seed, 10 + 3 * (seed % 2), rings=1, parallel=1)
    return sheet_of(terrain, question_of(low_m=1000.0, high_m=2500.0), Further())


F, B = Way.FORWARD, Way.BACKWARD


def name(i: int) -> StretchId:
    return StretchId(f"s{i:04d}")


def arcs(*steps: tuple[int, Way]) -> tuple[Arc, ...]:
    return tuple((name(i), way) for i, way in steps)


def ground(**changes: Any) -> Terrain:
    """A triangle 0-1-2, a ring at 1, a way 2-3, and a second triangle 1-3-2; 100 m each."""
    ends = [(0, 1), (1, 2), (2, 0), (1, 1), (2, 3), (3, 1)]
    spots = np.array([[0.0, 0.0], [100.0, 0.0], [50.0, 80.0], [150.0, 80.0]])
    whole = terrain_of(np.random.default_rng(3), spots, np.zeros(4), ends, [100.0] * 6)
    stretches = tuple(
        replace(s, **changes[s.id]) if s.id in changes else s for s in whole.network.stretches
    )
    return replace(whole, network=replace(whole.network, stretches=stretches))


@dataclass(frozen=True)
class Ridden:
    """One legal loop: arcs of the graph, and its score."""

    arcs: tuple[int, ...]
    score: float


def score_of(graph: Graph, rule: Rule, arcs: tuple[int, ...]) -> float:
    """Match in points less the price of length and of what is ridden again."""
    worth = graph.worth[list(arcs)].sum(axis=0)
    for before, after in zip(arcs, (*arcs[1:], arcs[0]), strict=True):
        row = range(graph.first[before], graph.first[before + 1])
        worth = worth + graph.link_worth[next(e for e in row if graph.succ[e] == after)]
    again = sum(graph.length[a] for i, a in enumerate(arcs) if a in arcs[:i])
    length = graph.length[list(arcs)].sum()
    return float(np.minimum(worth, rule.most).sum() - rule.price * (length + again))


def legal(graph: Graph, rule: Rule, arcs: tuple[int, ...]) -> bool:
    """Tell whether a closed walk keeps every rule but the way it is walked."""
    foes = {
        (a, int(b)) for a in arcs for b in graph.foe[graph.foe_first[a] : graph.foe_first[a + 1]]
    }
    musts = {int(graph.must[a]) for a in arcs} - {-1}
    return (
        not any(b in arcs for _, b in foes)
        and len(musts) == rule.musts
        and bool((graph.load[list(arcs)].sum(axis=0) <= rule.room + 1e-9).all())
    )


def loops_from(graph: Graph, rule: Rule, root: int, alive: np.ndarray) -> Iterator[Ridden]:
    """Every legal loop that leaves from ``root`` over living junctions, from each departure."""

    def walk(path: tuple[int, ...], length: float) -> Iterator[tuple[int, ...]]:
        links = graph.succ[graph.first[path[-1]] : graph.first[path[-1] + 1]]
        if path[0] in links:
            yield path
        for arc in map(int, links):
            twin = int(graph.twin[arc])
            again = sum(path.count(a) - 1 for a in set(path)) + (arc in path)
            if (
                alive[graph.head[arc]]
                and length + graph.length[arc] <= rule.cap
                and path.count(arc) < 2
                and again <= rule.repeats
                and not (twin >= 0 and twin in path)
            ):
                yield from walk((*path, arc), length + graph.length[arc])

    for arc in np.flatnonzero(graph.tail == root).tolist():
        if alive[graph.head[arc]] and graph.length[arc] <= rule.cap:
            for arcs in walk((arc,), float(graph.length[arc])):
                if legal(graph, rule, arcs):
                    yield Ridden(arcs, score_of(graph, rule, arcs))


def all_loops(sheet: Sheet) -> list[Ridden]:
    """Every legal loop, from each departure."""
    return [
        loop
        for root in roots(sheet)
        for loop in loops_from(sheet.graph, sheet.rule, root, everywhere(sheet))
    ]


def ways(graph: Graph, usable: np.ndarray, *, back: bool) -> nx.DiGraph[int]:
    """Arcs as nodes; stepping onto an arc costs its length. ``back`` turns every link round."""
    line: nx.DiGraph[int] = nx.DiGraph()
    line.add_nodes_from(np.flatnonzero(usable).tolist())
    for a in line:
        for b in graph.succ[graph.first[a] : graph.first[a + 1]].tolist():
            if usable[b]:
                one, other = (b, a) if back else (a, b)
                line.add_edge(one, other, weight=float(graph.length[other]))
    return line


def nearest(graph: Graph, line: nx.DiGraph[int], starts: np.ndarray) -> np.ndarray:
    """(A,) least metres of a walk from any of ``starts``, both ends counted; inf for none."""
    found = np.full(graph.tail.size, np.inf)
    for start in starts.tolist():
        reached = nx.single_source_dijkstra_path_length(line, start)
        for arc, far in reached.items():
            found[arc] = min(found[arc], far + graph.length[start])
    return found


@dataclass
class Walk:
    """The best walk home under given values, worked out from the top."""

    local: Local
    lengths: Buckets
    value: np.ndarray
    link: np.ndarray
    done: np.ndarray
    known: dict[tuple[int, int], float]

    def home(self, left: int, a: int) -> float:
        if (left, a) not in self.known:
            ends = self.done[self.local.close_first[a] : self.local.close_first[a + 1]]
            best = float(ends.max(initial=-np.inf))
            for e in range(self.local.first[a], self.local.first[a + 1]):
                b = int(self.local.succ[e])
                rest = min(left - self.lengths.whole[b], self.lengths.high[b])
                if rest >= self.lengths.low[b]:
                    best = max(best, self.value[b] + self.link[e] + self.home(int(rest), b))
            self.known[left, a] = best
        return self.known[left, a]


def roots(sheet: Sheet) -> list[int]:
    """Every junction by number."""
    return list(range(len(sheet.junctions)))


def everywhere(sheet: Sheet) -> np.ndarray:
    """No junction is barred."""
    return np.ones(len(sheet.junctions), np.bool_)


def near(sheet: Sheet, root: int, alive: np.ndarray | None = None) -> Local:
    """What loops through ``root`` can use."""
    alive = everywhere(sheet) if alive is None else alive
    return localise(sheet.graph, alive, root, sheet.rule.cap, sheet.rule.musts)


def some_prices(local: Local, rule: Rule, rng: np.random.Generator) -> np.ndarray:
    """A flat price set inside what keeps the bound true."""
    low, high = ranges(local, rule)
    drawn = rng.normal(0.4, 1.0, low.size) * np.where(np.arange(low.size) < rule.most.size, 1, 3)
    return np.clip(drawn, low, high)


def quick() -> Stride:
    """The steps of a quick tuning."""
    return Stride(np.ones(1), 1, 0.0)


def place_of(local: Local, arcs: tuple[int, ...]) -> list[int]:
    """Local numbers of arcs of the graph."""
    where = {int(a): i for i, a in enumerate(local.arc)}
    return [where[a] for a in arcs]


def ridden_path(local: Local, rule: Rule, tables: Tables, arcs: list[int]) -> Path:
    """A path on which ``arcs`` were ridden by the kernel."""
    path = fresh_path(local, rule, tables.fixed.size)
    for depth, arc in enumerate(arcs, start=1):
        ride(local, tables, path, depth, arc, link_to(local, arcs[: depth - 1], arc))
    return path


def link_to(local: Local, arcs: list[int], arc: int) -> int:
    """Number of the link by which ``arc`` follows ``arcs``; beyond the last from the root."""
    if not arcs:
        return int(local.succ.size)
    row = range(local.first[arcs[-1]], local.first[arcs[-1] + 1])
    return next(e for e in row if local.succ[e] == arc)
