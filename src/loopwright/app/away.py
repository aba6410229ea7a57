# ruff: noqa: PLR0917, FBT001 - the worker passes inputs by place
"""What the worker process is asked to do: get ready, search, and what leans on the search.

Gets picklable inputs and a report; gives picklable answers. Promises: no Qt inside, so that the
worker loads no more than it needs.
"""

from __future__ import annotations

from collections.abc import Sequence
from threading import Thread
from typing import TYPE_CHECKING

from loopwright.jobs import Report
from loopwright.model.ground import Terrain
from loopwright.model.ids import Arc, StretchId
from loopwright.model.loops import FoundLoop, SearchResult
from loopwright.model.wishes import Question

if TYPE_CHECKING:
    from loopwright.loops.further import Further
    from loopwright.loops.trade_off import Offer


def search_here(
    terrain: Terrain, question: Question, further: Further, report: Report
) -> SearchResult:
    """Search in this process; also what the worker process is asked to do."""
    from loopwright.loops import find_loops

    return find_loops(terrain, question, report=report, further=further)


def lead_here(
    terrain: Terrain,
    question: Question,
    further: Further,
    loop: Sequence[Arc],
    stretch: StretchId,
    through: bool,
    report: Report,
) -> FoundLoop | None:
    """Lead a loop through a stretch, or around it."""
    from loopwright.loops.by_hand import drag_through, lead_around

    lead = drag_through if through else lead_around
    return lead(terrain, question, loop, stretch=stretch, further=further, report=report)


def finish_here(
    terrain: Terrain, question: Question, further: Further, locked: Sequence[Arc], report: Report
) -> FoundLoop | None:
    """Find the best loop around a locked part."""
    from loopwright.loops.by_hand import finish

    result = finish(terrain, question, locked, further=further, report=report)
    return result.loops[0] if result.loops else None


def without_here(
    terrain: Terrain, question: Question, further: Further, stretch: StretchId, report: Report
) -> FoundLoop | None:
    """Find the best loop without a stretch."""
    from loopwright.loops.explain import best_without

    return best_without(terrain, question, stretch, further=further, report=report)


def with_here(
    terrain: Terrain, question: Question, further: Further, stretch: StretchId, report: Report
) -> FoundLoop | None:
    """Find the best loop with a stretch."""
    from loopwright.loops.explain import best_with

    return best_with(terrain, question, stretch, further=further, report=report)


def weigh_here(
    terrain: Terrain, question: Question, further: Further, most_repeats: int, report: Report
) -> tuple[Offer, ...]:
    """Find the front of match, length and repeats."""
    from loopwright.loops.trade_off import trade_off

    return trade_off(terrain, question, most_repeats=most_repeats, further=further, report=report)


def get_ready(_report: Report) -> None:
    """Load the search, and beside it the compiled code if it is known to lie in the cache.

    Where it must be compiled first nothing is begun here: the search itself then shows a quick
    answer before it compiles, and has the processor to do so.
    """
    from loopwright import loops  # noqa: F401 - imported to be there when a search comes
    from loopwright.warming import stamp

    if stamp().exists():
        Thread(target=_load, name="load the search", daemon=True).start()


def _load() -> None:
    from loopwright.loops.warm import warm_up  # brings numba

    warm_up()
