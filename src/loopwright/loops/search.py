"""The compiled search behind the front door: best loop, different loops, most on offer.

Gets a sheet and a progress to fill; raises Stopped when cut short, with all found so far kept.
"""

from __future__ import annotations

from collections.abc import Sequence

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


def search(progress: Progress, sheet: Sheet, *, workers: int) -> None:
    """Fill ``progress``: the best loop first, then the others, then the most on offer."""
    order = root_order(sheet.graph, sheet.start)
    with Crew(workers, progress.tick) as crew:
        _all_loops(progress, sheet, crew, order)
        for kind in progress.most:
            most_of(progress, sheet, crew, kind, order)


def _all_loops(progress: Progress, sheet: Sheet, crew: Crew, order: Sequence[int]) -> None:
    """Find the best loop, then different ones; their bounds never exceed those before."""
    tops = [progress.bound] * len(order)
    chosen: list[Sequence[int]] = []
    for rank in range(1, progress.question.wishes.count + 1):
        graph, rule = apart(sheet, chosen)
        hunt = Hunt(graph, rule, order, tops=tops, crew=crew, roam=is_free(sheet))
        _hunt_one(progress, sheet, hunt, rank)
        if not hunt.arcs():
            break
        chosen.append(hunt.arcs())
        tops = [root.bound for root in hunt.roots]


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


def _hunt_one(progress: Progress, sheet: Sheet, hunt: Hunt, rank: int) -> None:
    def note() -> None:
        if hunt.arcs():
            progress.place(rank, named(sheet, hunt.arcs()))
        if rank == 1:
            progress.bound = min(progress.bound, hunt.bound)
        progress.tell()

    hunt.on_better = note
    try:
        hunt.run(PROVEN_GAP)
        if rank == 1:
            note()
            hunt.settle(0.0)
    finally:
        note()


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
