"""What the worker process is asked to do: get ready, and search.

Gets picklable inputs and a report; gives picklable answers. Promises: no Qt inside, so that the
worker loads no more than it needs.
"""

from __future__ import annotations

from threading import Thread

from loopwright.jobs import Report
from loopwright.model.ground import Terrain
from loopwright.model.loops import SearchResult
from loopwright.model.wishes import Question


def search_here(terrain: Terrain, question: Question, report: Report) -> SearchResult:
    """Search in this process; also what the worker process is asked to do."""
    from loopwright.loops import find_loops

    return find_loops(terrain, question, report=report)


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
