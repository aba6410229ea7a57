"""One exact search: the best loop under one rule.

Gets a graph, a rule and a root order; gives the best loop and a bound on all others, bettering
both as long as it is let. Promises: the same steps for the same input, whatever the clock; the
bound is true at every moment.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from loopwright.loops.dive import dive
from loopwright.loops.near import localise
from loopwright.loops.shapes import Flags, Found, Graph, Local, Path, Reals, Rule, Tables
from loopwright.loops.tables import build_tables
from loopwright.loops.tune import tune

COARSE_M = 60.0
FINE_M = 25.0
SHORTEST_BUCKET_M = 5.0
SEEDS = 6
SEED_NODES = 300
SCREEN_LOOKS = 4
SETTLE_LOOKS = 12
SLICE_NODES = 3000
KEPT_BYTES = 200_000_000


@dataclass(slots=True)
class Near:
    """The part of the graph one root's loops can use, with its prices."""

    local: Local
    flat: Reals


@dataclass(slots=True)
class Dig:
    """A depth-first search under way."""

    tables: Tables
    path: Path


@dataclass(slots=True)
class Root:
    """A root, what is known of its loops, and how far its search has come."""

    place: int
    junction: int
    bound: float
    near: Near | None = None
    dig: Dig | None = None
    turns: int = 0


def bucket_for(local: Local, wish_m: float, cap_m: float) -> float:
    """Bucket width near ``wish_m``, finer where many short stretches would loosen the bounds."""
    width = wish_m
    while width > SHORTEST_BUCKET_M:
        gain = np.maximum(0.0, width - local.length).sum() / 2
        if gain <= 0.04 * cap_m:
            break
        width /= 1.5
    return width


def fresh_path(local: Local, rule: Rule, sets: int) -> Path:
    """Make an empty path with room for the longest possible loop."""
    depth = local.stretches + rule.repeats + 2
    widest = int(np.diff(local.first).max(initial=1))
    size = local.starts + depth * max(1, widest)
    return Path(
        arc=np.zeros(depth, np.int32),
        length=np.zeros(depth),
        again=np.zeros(depth),
        worth=np.zeros((depth, rule.most.size)),
        load=np.zeros((depth, rule.room.size)),
        value=np.zeros((depth, sets)),
        repeats=np.zeros(depth, np.int32),
        musts=np.zeros(depth, np.int32),
        times=np.zeros(local.arc.size, np.int32),
        seen=np.zeros(rule.musts, np.int32),
        open_depth=np.zeros(size, np.int32),
        open_arc=np.zeros(size, np.int32),
        open_link=np.zeros(size, np.int32),
        open_bound=np.zeros(size),
        cursor=np.array([0, -1], np.int32),
        scratch=np.zeros(sets),
    )


def _nothing() -> None:
    """Nobody wants to know."""


class Hunt:
    """The search. ``tick`` is called at least every few milliseconds and may raise to stop it."""

    def __init__(
        self,
        graph: Graph,
        rule: Rule,
        order: Sequence[int],
        *,
        roam: bool,
        tops: Sequence[float],
        tick: Callable[[], None],
    ) -> None:
        """Take the roots in ``order`` with known bounds ``tops``.

        ``roam`` tells that loops may lie anywhere: then a root's loops do not pass earlier roots.
        """
        self.graph = graph
        self.rule = rule
        self.roam = roam
        self.tick = tick
        self.on_better: Callable[[], None] = _nothing
        self.told = 0
        self.roots = [
            Root(place=i, junction=junction, bound=tops[i]) for i, junction in enumerate(order)
        ]
        self.found = Found(
            np.array([-np.inf]), np.zeros(2, np.int32), np.zeros(graph.tail.size + 64, np.int32)
        )
        self.common = np.zeros(rule.most.size + rule.room.size)
        self.common[: rule.most.size] = 0.5

    @property
    def best(self) -> float:
        """Score of the best loop so far, -inf before the first."""
        return float(self.found.score[0])

    @property
    def bound(self) -> float:
        """No loop scores higher."""
        return max([self.best, *(root.bound for root in self.roots)])

    def arcs(self) -> tuple[int, ...]:
        """Arcs of the best loop, by number in the graph."""
        return tuple(self.found.arcs[: self.found.size[0]].tolist())

    def run(self, gap: float, *, turns: int | None = None) -> None:
        """Search until proven to ``gap``, or for ``turns`` turns after the first look."""
        count = len(self.roots)
        for i in dict.fromkeys(k * count // SEEDS for k in range(min(SEEDS, count))):
            self._sample(self.roots[i], gap)
        for root in self.roots:
            self._screen(root, gap)
        self.settle(gap, turns=turns)

    def settle(self, gap: float, *, turns: int | None = None) -> None:
        """Search the roots of greatest bound first until none can hold a loop ``gap`` better."""
        heap = [(-root.bound, root.place) for root in self.roots]
        heapq.heapify(heap)
        while heap and -heap[0][0] > self.best + gap and turns != 0:
            turns = None if turns is None else turns - 1
            root = self.roots[heapq.heappop(heap)[1]]
            self._work(root, gap)
            if root.bound > self.best + gap:
                heapq.heappush(heap, (-root.bound, root.place))

    def _beat(self) -> None:
        """Tell of a better loop, and let the caller stop the search."""
        if self.found.size[1] > self.told:
            self.told = int(self.found.size[1])
            self.on_better()
        self.tick()

    def _alive(self, root: Root) -> Flags:
        alive = np.ones(int(max(self.graph.tail.max(), self.graph.head.max())) + 1, np.bool_)
        if self.roam:
            alive[[other.junction for other in self.roots[: root.place]]] = False
        return alive

    def _near(self, root: Root) -> Near:
        if root.near is None:
            local = localise(
                self.graph, self._alive(root), root.junction, self.rule.cap, self.rule.musts
            )
            flat = np.concatenate((self.common, np.zeros(local.stretches)))
            root.near = Near(local, flat)
        return root.near

    def _tune(self, root: Root, wish_m: float, looks: int, gap: float) -> None:
        near = self._near(root)
        width = bucket_for(near.local, wish_m, self.rule.cap)
        bound = tune(near.local, self.rule, near.flat, self.found, width, looks, gap)
        root.bound = min(root.bound, bound)
        if bound > -np.inf:
            self.common = near.flat[: self.common.size].copy()
        self._beat()

    def _sample(self, root: Root, gap: float) -> None:
        """Look for a first good loop below one root."""
        self._tune(root, COARSE_M, SETTLE_LOOKS, gap)
        if root.bound > self.best + gap:
            self._dive(root, self._prepared(root, COARSE_M), gap, SEED_NODES)
            root.dig = None

    def _screen(self, root: Root, gap: float) -> None:
        """Bound the root's loops cheaply."""
        if root.bound > self.best + gap:
            self._tune(root, COARSE_M, SCREEN_LOOKS, gap)
        if root.bound <= self.best + gap:
            root.near = None

    def _work(self, root: Root, gap: float) -> None:
        """Give the root one more turn: better prices first, then the depth-first search."""
        if root.dig is None:
            self._tune(root, FINE_M, SETTLE_LOOKS, gap)
            if root.bound <= self.best + gap:
                return
            root.dig = self._prepared(root, FINE_M)
            self._make_room(root)
        for _ in range(2**root.turns):
            if root.dig is not None:
                self._dive(root, root.dig, gap, SLICE_NODES)
        root.turns += 1

    def _make_room(self, root: Root) -> None:
        """Drop other searches under way when their tables grow too large; they begin again."""
        others = [r for r in self.roots if r.dig is not None and r is not root]
        if sum(r.dig.tables.best.nbytes for r in others if r.dig is not None) > KEPT_BYTES:
            for other in others:
                other.dig = None

    def _prepared(self, root: Root, wish_m: float) -> Dig:
        near = self._near(root)
        width = bucket_for(near.local, wish_m, self.rule.cap)
        sets = self._price_sets(near.flat)
        tables = build_tables(near.local, self.rule, sets, width)
        self._beat()
        return Dig(tables, fresh_path(near.local, self.rule, len(sets)))

    def _price_sets(self, flat: Reals) -> Reals:
        """Give the tuned prices, and the same without those of the conditions.

        Once a path is long, the shortest lap no longer presses, and the second set bounds better.
        """
        kinds, rooms = self.rule.most.size, self.rule.room.size
        plain = flat.copy()
        plain[kinds : kinds + rooms] = 0.0
        return np.array([flat] if np.array_equal(plain, flat) else [flat, plain])

    def _dive(self, root: Root, dig: Dig, gap: float, nodes: int) -> None:
        local = self._near(root).local
        dive(local, self.rule, dig.tables, dig.path, self.found, gap, nodes)
        still = dig.path.open_bound[: dig.path.cursor[1]].max(initial=-np.inf)
        root.bound = min(root.bound, max(still, self.best + gap))
        if still == -np.inf:
            root.dig = None
        self._beat()
