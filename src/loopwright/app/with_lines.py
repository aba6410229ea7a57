"""What is best so far in a search, with the lines of its loops, worked out beside the window.

Gets the report of a search; gives answers as the window keeps them. Promises: no line of a loop is
worked out on the window's thread.
"""

from __future__ import annotations

from typing import TypeAlias

from loopwright.app.rooms import Rooms
from loopwright.jobs import Report
from loopwright.model.ground import Terrain
from loopwright.model.loops import SavedLoop, SearchResult
from loopwright.model.wishes import Wishes

Answer: TypeAlias = tuple[SearchResult, tuple[SavedLoop, ...]]


class WithLines:
    """The report of a search; what is best so far gets its lines before it is passed on."""

    def __init__(self, report: Report, rooms: Rooms, terrain: Terrain, wishes: Wishes) -> None:
        self.step, self.check, self.cancelled = report.step, report.check, report.cancelled
        self._report, self._rooms, self._terrain, self._wishes = report, rooms, terrain, wishes

    def lined(self, result: SearchResult) -> Answer:
        """Give an answer of the search with its loops as the window keeps them."""
        return result, self._rooms.saved(self._terrain, self._wishes, result.loops)

    def best(self, result: object) -> None:
        """Pass on the best so far, if it holds a loop."""
        if isinstance(result, SearchResult) and result.loops:
            self._report.best(self.lined(result))
