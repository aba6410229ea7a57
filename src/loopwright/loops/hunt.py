"""One exact search: the best loop under one rule.

Gets a graph, a rule and a root order; gives the best loop and a bound on all others, bettering
both as long as it is let. Promises: the same steps for the same input, whatever the clock; the
bound is true at every moment.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import partial

import numpy as np

from loopwright.loops.crew import Crew
from loopwright.loops.dive import dive
from loopwright.loops.near import localise
from loopwright.loops.shapes import Flags, Found, Graph, Local, Path, Reals, Rule, Stride, Tables
from loopwright.loops.tables import budgets, build_tables, in_buckets
from loopwright.loops.tune import AIM, tune

COARSE = 1 / 80
FINE = 1 / 200
FINEST = 1 / 1000
"""Bucket widths as parts of the longest lap."""
SPARE_AT_MOST = 0.04
SEEDS = 6
SEED_NODES = 1000
SCREEN_LOOKS = 4
SETTLE_LOOKS = 8
SLICE_NODES = 20_000
MOST_SLICES = 4
BATCH = 4
SCREEN_BATCH = 8
KEPT_BYTES = 200_000_000
LEAST_LOOKS, LOOKS = 4, 16
"""Looks of one round of thorough tuning."""
ROUND_CELLS = 4_000_000
"""Cells of tables that a round should not fill more of: nobody asks whether to stop meanwhile."""
MOST_ROUNDS = 60
LITTLE = 0.01
"""Tuning ends with a round, not the first, that closes less of what is open."""
PATIENCE = 5
MEMORY = 0.6
CELLS_A_NODE = 20
"""Cells of a tuning table that one node pays for: half as long is tuned as was searched."""
WORTH_A_START = 0.5
"""A search begins anew when better prices close so much of what is open."""


@dataclass(slots=True)
class Near:
    """The part of the graph one root's loops can use, with its prices."""

    local: Local
    flat: Reals
    top: float = float("inf")
    """No loop of the root scores higher under the prices."""
    stride: Stride = field(default_factory=lambda: Stride(np.ones(1), PATIENCE, MEMORY))
    """The steps of its thorough tuning."""


@dataclass(slots=True)
class Dig:
    """A depth-first search under way."""

    tables: Tables
    path: Path
    top: float
    """Bound of the prices it was laid out with."""


@dataclass(slots=True, eq=False)
class Root:
    """A root, what is known of its loops, and how far its search has come."""

    place: int
    junction: int
    bound: float
    near: Near | None = None
    dig: Dig | None = None
    turns: int = 0
    nodes: int = 0
    rounds: int = 0


def bucket_for(local: Local, part: float, cap: float) -> float:
    """Bucket width near ``part`` of ``cap``, finer where there are many short stretches."""
    width = part * cap
    while width > FINEST * cap:
        gain = np.maximum(0.0, width - local.length).sum() / 2
        if gain <= SPARE_AT_MOST * cap:
            break
        width /= 1.5
    return width


def fresh_path(local: Local, rule: Rule, sets: int) -> Path:
    """Make an empty path with room for the longest possible loop."""
    depth = local.stretches + rule.repeats + 2
    widest = int(np.diff(local.first).max(initial=1))
    size = local.starts + depth * widest
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
        barred=np.zeros(local.arc.size, np.int32),
        seen=np.zeros(rule.musts, np.int32),
        passed=np.zeros(local.limit.size, np.int32),
        mark=np.zeros(local.arc.size, np.int32),
        queue=np.zeros(local.arc.size + 1, np.int32),
        sums=np.zeros(rule.most.size + rule.room.size),
        open_depth=np.zeros(size, np.int32),
        open_arc=np.zeros(size, np.int32),
        open_link=np.zeros(size, np.int32),
        open_bound=np.zeros(size),
        cursor=np.array([0, -1], np.int32),
        scratch=np.zeros(sets),
    )


def no_loop(size: int) -> Found:
    """Make room for a best loop of up to ``size`` arcs."""
    return Found(np.array([-np.inf]), np.zeros(2, np.int32), np.zeros(size, np.int32))


def take_over(found: Found, other: Found) -> None:
    """Copy a better loop."""
    if other.score[0] > found.score[0]:
        found.score[0] = other.score[0]
        found.size[0] = other.size[0]
        found.size[1] += 1
        found.arcs[:] = other.arcs


def _open(top: float, found: Found) -> float:
    """Points between a bound and the best loop; before the first, as many as a step aims at."""
    return min(AIM, top - float(found.score[0]))


def _nothing() -> None:
    """Nobody wants to know."""


class Hunt:
    """The search, run by a crew whose ``tick`` may raise to stop it.

    Roots are taken in batches of a fixed size, each with a copy of the best loop at the batch's
    start, so that the steps are the same however many workers there are.
    """

    def __init__(
        self,
        graph: Graph,
        rule: Rule,
        order: Sequence[int],
        *,
        roam: bool,
        tops: Sequence[float],
        crew: Crew,
    ) -> None:
        """Take the roots in ``order`` with known bounds ``tops``.

        ``roam`` tells that loops may lie anywhere: then a root's loops do not pass earlier roots.
        """
        self.graph = graph
        self.rule = rule
        self.roam = roam
        self.crew = crew
        self.on_better: Callable[[], None] = _nothing
        self.roots = [
            Root(place=i, junction=junction, bound=tops[i]) for i, junction in enumerate(order)
        ]
        self.found = no_loop(graph.tail.size + 64)
        self.common = np.zeros(rule.most.size + rule.room.size)
        self.common[: rule.most.size] = 0.5

    @property
    def best(self) -> float:
        """Score of the best loop so far, -inf before the first."""
        return float(self.found.score[0])

    @property
    def bound(self) -> float:
        """No loop scores higher."""
        return float(max([self.best, *(root.bound for root in self.roots)]))

    def arcs(self) -> tuple[int, ...]:
        """Arcs of the best loop, by number in the graph."""
        return tuple(self.found.arcs[: self.found.size[0]].tolist())

    def run(self, gap: float, *, turns: int | None = None) -> None:
        """Search until proven to ``gap``, or for ``turns`` turns after the first look."""
        count = len(self.roots)
        seeds = dict.fromkeys(k * count // SEEDS for k in range(min(SEEDS, count)))
        for i in seeds:
            self._together([self.roots[i]], gap, self._sample)
        for begin in range(0, count, SCREEN_BATCH):
            batch = self.roots[begin : begin + SCREEN_BATCH]
            self._together(batch, gap, self._screen)
        self.settle(gap, turns=turns)

    def settle(self, gap: float, *, turns: int | None = None) -> None:
        """Search the roots of greatest bound first until none can hold a loop ``gap`` better."""
        heap = [(-root.bound, root.place) for root in self.roots]
        heapq.heapify(heap)
        while heap and -heap[0][0] > self.best + gap and turns != 0:
            turns = None if turns is None else turns - 1
            batch = [self.roots[heapq.heappop(heap)[1]] for _ in range(min(BATCH, len(heap)))]
            self._make_room(batch)
            self._together(batch, gap, self._work)
            for root in batch:
                if root.bound > self.best + gap:
                    heapq.heappush(heap, (-root.bound, root.place))

    def _together(
        self, batch: Sequence[Root], gap: float, work: Callable[[Root, Found, float], None]
    ) -> None:
        """Work on all roots of the batch at once, then bring their best loops together."""
        copies = [no_loop(self.found.arcs.size) for _ in batch]
        for copy in copies:
            take_over(copy, self.found)
        pairs = zip(batch, copies, strict=True)
        try:
            self.crew.all([partial(work, root, copy, gap) for root, copy in pairs])
        finally:
            before = self.best
            for copy in copies:
                take_over(self.found, copy)
            if self.best > before:
                self.on_better()
        for root in batch:
            if root.near is not None and root.bound > -np.inf:
                self.common = root.near.flat[: self.common.size].copy()
            if root.bound <= self.best + gap:
                root.near = root.dig = None

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

    def _tune(
        self, root: Root, found: Found, part: float, looks: int, gap: float,
        *, stride: Stride | None = None,
    ) -> None:  # fmt: skip
        """Better the root's prices, in quick steps unless told the ``stride``."""
        near = self._near(root)
        width = bucket_for(near.local, part, self.rule.cap)
        steps = stride or Stride(np.ones(1), 1, 0.0)
        near.top = tune(near.local, self.rule, near.flat, found, width, looks, gap, steps)
        root.bound = min(root.bound, near.top)

    def _sample(self, root: Root, found: Found, gap: float) -> None:
        """Look for a first good loop below one root."""
        self._tune(root, found, COARSE, SETTLE_LOOKS, gap)
        if root.bound > found.score[0] + gap:
            root.dig = self._prepared(root, COARSE)
            self._dive(root, root.dig, found, gap, SEED_NODES)
            root.dig = None

    def _screen(self, root: Root, found: Found, gap: float) -> None:
        """Bound the root's loops cheaply."""
        if root.bound > found.score[0] + gap and not self.crew.stopping:
            self._tune(root, found, COARSE, SCREEN_LOOKS, gap)

    def _work(self, root: Root, found: Found, gap: float) -> None:
        """Give the root one more turn: better prices first, then the depth-first search."""
        if root.bound <= found.score[0] + gap or self.crew.stopping:
            return
        if root.dig is None:
            self._tune(root, found, FINE, SETTLE_LOOKS, gap)
            if root.bound <= found.score[0] + gap:
                return
            root.dig = self._prepared(root, FINE)
        self._settle(root, root.dig, found, gap)
        for _ in range(2 ** min(root.turns, MOST_SLICES)):
            if root.dig is not None and not self.crew.stopping:
                self._dive(root, root.dig, found, gap, SLICE_NODES)
                root.nodes += SLICE_NODES
                self.crew.check()
        root.turns += 1

    def _settle(self, root: Root, dig: Dig, found: Found, gap: float) -> None:
        """Tune a root thoroughly that stays open, half as long as it has been searched.

        Where few loops fit, as when a lap must take nearly every stretch, the first prices leave
        bounds far too high, and no depth-first search makes up for that.
        """
        near = self._near(root)
        width = bucket_for(near.local, FINE, self.rule.cap)
        rows = budgets(self.rule, width, in_buckets(near.local, self.rule, width).spare)
        cells = rows * (near.local.length.size + near.local.succ.size)
        looks = int(np.clip(ROUND_CELLS // cells, LEAST_LOOKS, LOOKS))
        while root.rounds < min(MOST_ROUNDS, root.nodes * CELLS_A_NODE // (looks * cells)):
            if root.bound <= found.score[0] + gap or self.crew.stopping:
                return
            before = near.top
            self._tune(root, found, FINE, looks, gap, stride=near.stride)
            little = before - near.top < LITTLE * _open(near.top, found)
            root.rounds = MOST_ROUNDS if little and root.rounds else root.rounds + 1
            self.crew.check()
        if near.top < dig.top - WORTH_A_START * _open(dig.top, found):
            root.dig = self._prepared(root, FINE)

    def _make_room(self, batch: Sequence[Root]) -> None:
        """Drop other searches under way when their tables grow too large; they begin again."""
        others = [r for r in self.roots if r not in batch]
        if sum(r.dig.tables.best.nbytes for r in others if r.dig is not None) > KEPT_BYTES:
            for other in others:
                other.dig = None

    def _prepared(self, root: Root, part: float) -> Dig:
        near = self._near(root)
        width = bucket_for(near.local, part, self.rule.cap)
        sets = self._price_sets(near.flat)
        tables = build_tables(near.local, self.rule, sets, width)
        return Dig(tables, fresh_path(near.local, self.rule, len(sets)), near.top)

    def _price_sets(self, flat: Reals) -> Reals:
        """Give the tuned prices, and the same without those of the conditions.

        Once a path is long, the shortest lap no longer presses, and the second set bounds better.
        """
        kinds, rooms = self.rule.most.size, self.rule.room.size
        plain = flat.copy()
        plain[kinds : kinds + rooms] = 0.0
        return np.array([flat] if np.array_equal(plain, flat) else [flat, plain])

    def _dive(self, root: Root, dig: Dig, found: Found, gap: float, nodes: int) -> None:
        local = self._near(root).local
        dive(local, self.rule, dig.tables, dig.path, found, gap, nodes)
        still = dig.path.open_bound[: dig.path.cursor[1]].max(initial=-np.inf)
        root.bound = min(root.bound, max(still, found.score[0] + gap))
        if still == -np.inf:
            root.dig = None
