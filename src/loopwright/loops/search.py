"""The compiled search behind the front door: best loop, different loops, most on offer.

Gets a sheet and a progress to fill; raises Stopped when cut short, with all found so far kept.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial

import numpy as np

from loopwright.loops.crew import Crew
from loopwright.loops.graph import FULL, Sheet
from loopwright.loops.hunt import Hunt
from loopwright.loops.progress import PROVEN_GAP, Progress, named
from loopwright.loops.roots import root_order
from loopwright.loops.shapes import Graph, Rule

SHARED_BELOW = 0.6
"""Two loops of one answer share less than this part of the lesser one's length."""
STRICT = 1e-6
MOST_TURNS = 40
PATIENCE = 24
"""Turns of each loop's search in the first round."""
EXACT_TURNS = 6
"""Turns for the last hundredth of a point of loop 1."""


def search(progress: Progress, sheet: Sheet, *, workers: int) -> None:
    """Fill ``progress``: the best loop first, then the others, then the most on offer.

    Where the best loop is not proven soon, different loops are shown meanwhile: rounds of growing
    patience take all ranks in turn.
    """
    order = root_order(sheet.graph, sheet.start)
    with Crew(workers, progress.tick) as crew:
        chain = Chain(progress, sheet, crew, order)
        chain.round(PATIENCE)
        for kind in progress.most:
            most_of(progress, sheet, crew, kind, order)
        patience = PATIENCE
        while not chain.proven():
            patience *= 2
            chain.round(patience)


class Chain:
    """The searches for loop 1, 2, ...: each for the best loop that differs from those before."""

    def __init__(self, progress: Progress, sheet: Sheet, crew: Crew, order: Sequence[int]) -> None:
        """Begin with nothing searched."""
        self._progress, self._sheet, self._crew, self._order = progress, sheet, crew, order
        self._hunts: list[Hunt] = []

    def proven(self) -> bool:
        """Tell whether nothing is left to be searched."""
        return all(hunt.bound <= hunt.best + PROVEN_GAP for hunt in self._hunts)

    def round(self, turns: int) -> None:
        """Give each rank some turns; where a loop is bettered the ranks after it begin anew."""
        for rank in range(1, self._progress.question.wishes.count + 1):
            fresh = rank > len(self._hunts)
            if fresh:
                self._hunts.append(self._next())
            hunt = self._hunts[rank - 1]
            before = hunt.best
            self._hunt(hunt, rank, partial(hunt.run if fresh else hunt.settle, PROVEN_GAP), turns)
            if rank == 1 and self.proven():
                self._hunt(hunt, rank, partial(hunt.settle, 0.0), EXACT_TURNS)
            if hunt.best > before:
                del self._hunts[rank:]
            if not hunt.arcs():
                break

    def _next(self) -> Hunt:
        """Search for a further loop; bounds known of the rank before hold for it too."""
        chosen = [hunt.arcs() for hunt in self._hunts]
        graph, rule = apart(self._sheet, chosen)
        tops = [self._progress.bound] * len(self._order)
        if self._hunts:
            tops = [root.bound for root in self._hunts[-1].roots]
        roam = is_free(self._sheet)
        return Hunt(graph, rule, self._order, tops=tops, crew=self._crew, roam=roam)

    def _hunt(self, hunt: Hunt, rank: int, work: Callable[..., None], turns: int) -> None:
        def tell() -> None:
            if rank == 1:
                self._progress.bound = min(self._progress.bound, hunt.bound)
            self._progress.tell()

        def better() -> None:
            self._progress.place(rank, named(self._sheet, hunt.arcs()))
            tell()

        hunt.on_better = better
        try:
            work(turns=turns)
        finally:
            tell()


def is_free(sheet: Sheet) -> bool:
    """Tell whether loops may lie anywhere, with no start or stretch that all must pass."""
    return sheet.start < 0 and sheet.rule.musts == 0


def apart(sheet: Sheet, chosen: Sequence[Sequence[int]]) -> tuple[Graph, Rule]:
    """Add to graph and rule the condition to share less than 60 % with each loop chosen."""
    graph, rule = sheet.graph, sheet.rule
    if not chosen:
        return graph, rule
    scale = rule.price * FULL / 10.0
    loads = [graph.load]
    for arcs in chosen:
        shared = np.isin(graph.stretch, graph.stretch[list(arcs)])
        loads.append(((shared - SHARED_BELOW) * graph.length * scale).reshape(-1, 1))
    room = np.concatenate((rule.room, np.full(len(chosen), -STRICT)))
    return graph._replace(load=np.hstack(loads)), rule._replace(room=room)


def most_of(progress: Progress, sheet: Sheet, crew: Crew, kind: str, order: Sequence[int]) -> None:
    """Lower ``progress.most`` to what the search can show of one kind."""
    column = list(progress.question.wishes.mix.targets).index(kind)
    target = progress.question.wishes.mix.targets[kind]
    scale = FULL / (progress.most[kind] or 1.0) * target / float(sheet.rule.most[column])
    graph = sheet.graph._replace(
        worth=sheet.graph.worth[:, [column]] * scale,
        link_worth=sheet.graph.link_worth[:, [column]] * scale,
    )
    rule = sheet.rule._replace(most=np.array([FULL]), price=0.0)
    tops = [FULL] * len(order)
    hunt = Hunt(graph, rule, order, tops=tops, crew=crew, roam=is_free(sheet))
    try:
        hunt.run(PROVEN_GAP, turns=MOST_TURNS)
    finally:
        progress.most[kind] *= max(0.0, hunt.bound) / FULL
