"""The room's front door: from a terrain and a question to loops with a bound.

Gets a terrain and a question; gives loops, best first, with a bound that is never below the score
of any loop under these wishes. Promises: the same loops for the same input once it finishes; a
time limit or a cancel only cuts it short, and then the bound is still true.
"""

from __future__ import annotations

import math
import sys
import threading
import time

import numpy as np

from loopwright.jobs import Report, Silent
from loopwright.loops.crew import cores
from loopwright.loops.further import FREE, Further
from loopwright.loops.graph import Sheet, sheet_of
from loopwright.loops.progress import Progress, Stopped, highest_score, named
from loopwright.loops.quick import quick_loops
from loopwright.model.ground import Terrain
from loopwright.model.loops import SearchResult
from loopwright.model.wishes import Mix, Question

POLL_S = 0.01


def find_loops(
    terrain: Terrain,
    question: Question,
    *,
    report: Report | None = None,
    workers: int | None = None,
    further: Further = FREE,
) -> SearchResult:
    """Find the best loop, prove it, and find different ones beside it.

    Parameters
    ----------
    terrain
        The network with its amounts.
    question
        What is wished, resolved on this network. A start or must-ridden stretch that is not on
        it, or not open, has no loop as its honest answer.
    report
        Told of each better answer; asked every few milliseconds whether to stop.
    workers
        How many cores to use, None for all; the answer is the same.
    further
        A window in predicted seconds, and arcs not to be ridden in one lap.

    Returns
    -------
    SearchResult
        Loops ranked by score, each sharing less than 60 % of its length with any better one.
        ``loops`` is empty when none was found: none exists if ``proven``.
    """
    began = time.monotonic()
    sheet = sheet_of(terrain, question, further)
    progress = Progress(
        terrain=terrain, question=question, report=report or Silent(),
        further=further, began=began, bound=highest_score(sheet),
    )  # fmt: skip
    progress.most = roughly_most(sheet, question.wishes.mix)
    if sheet.hopeless:
        progress.bound = -math.inf
        return progress.result()
    try:
        if not compiled_here():
            first_answer(progress, sheet)
        _search(progress, sheet, workers or cores())
    except Stopped:
        progress.tell()
    return progress.result()


def compiled_here() -> bool:
    """Tell whether this process has the compiled kernels in hand, or has compiling switched off."""
    # While another search still imports the module it is there without its kernels.
    kernel = getattr(sys.modules.get("loopwright.loops.dive"), "dive", None)
    return kernel is not None and bool(getattr(kernel, "signatures", True))


def first_answer(progress: Progress, sheet: Sheet) -> None:
    """Show a good loop while the kernels are compiled, or loaded from the cache, beside it.

    Compilation takes many seconds on a fresh install; nobody should look at nothing meanwhile.
    """
    compiling = threading.Thread(target=_compile, name="compile the search", daemon=True)
    for arcs in quick_loops(sheet, progress.tick):
        progress.place(1, named(sheet, arcs))
        progress.tell()
        if compiling.ident is None:  # only now, for compiling takes half the interpreter's time
            compiling.start()
    if compiling.ident is None:
        compiling.start()
    while compiling.is_alive():
        progress.tick()
        compiling.join(POLL_S)


def _compile() -> None:
    from loopwright.loops.warm import warm_up  # brings numba

    warm_up()


def _search(progress: Progress, sheet: Sheet, workers: int) -> None:
    from loopwright.loops.search import search  # brings numba

    search(progress, sheet, workers=workers)


def roughly_most(sheet: Sheet, mix: Mix) -> dict[str, float]:
    """Bound quickly what a loop can offer of each kind: the richest arcs in one lap."""
    graph, rule = sheet.graph, sheet.rule
    most = {}
    for k, (kind, target) in enumerate(mix.targets.items()):
        per_link = graph.link_worth[:, k].max(initial=0.0)
        worth = graph.worth[:, k] + per_link
        turns = 2 if rule.repeats else 1
        best = _fill(np.tile(worth, turns), np.tile(graph.length, turns), rule.cap)
        most[kind] = best * target / float(rule.most[k])
    return most


def _fill(worth: np.ndarray, length: np.ndarray, cap: float) -> float:
    """Fractional knapsack: richest per metre first; an upper bound on any walk without repeats."""
    order = np.argsort(-worth / np.maximum(length, 1e-9), kind="stable")
    ends = np.cumsum(length[order])
    whole = ends <= cap
    total = float(worth[order][whole].sum())
    rest = int(whole.sum())
    if rest < order.size:
        before = float(ends[rest - 1]) if rest else 0.0
        i = order[rest]
        total += float(worth[i]) * (cap - before) / max(float(length[i]), 1e-9)
    return total
