"""Put the window together: workspace, desk, finder, look.

Gets a document and choices; gives a window that does its work. Promises: nothing slow happens here.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from loopwright.app.away import get_ready, search_here
from loopwright.app.desk import Desk
from loopwright.app.dialogs import Dialogs
from loopwright.app.doings import all_doings
from loopwright.app.files import Files
from loopwright.app.late import late_pipeline, plain
from loopwright.app.look import Look
from loopwright.app.remembered import Remembered
from loopwright.app.rooms import Finder
from loopwright.app.window import Window
from loopwright.app.worker import Worker
from loopwright.io.preferences import Preferences
from loopwright.jobs import Report
from loopwright.loops.mixes import built_in_mixes
from loopwright.model.document import Document
from loopwright.model.ground import Terrain
from loopwright.model.loops import SearchResult
from loopwright.model.wishes import Question
from loopwright.workspace import Workspace

if TYPE_CHECKING:
    from loopwright.pipeline import Pipeline


@dataclass(frozen=True, kw_only=True)
class SearchElsewhere:
    """Search in a worker process."""

    worker: Worker

    def __call__(self, terrain: Terrain, question: Question, report: Report) -> SearchResult:
        """Search there and wait here."""
        answer = self.worker.call(search_here, (terrain, question), report)
        if not isinstance(answer, SearchResult):
            message = f"the worker answered {type(answer).__name__}"
            raise TypeError(message)
        return answer


@dataclass(frozen=True, kw_only=True, eq=False)
class Opened:
    """A window with what it stands on; ``close`` ends everything."""

    window: Window
    desk: Desk
    files: Files
    worker: Worker | None

    def close(self) -> bool:
        """End all jobs and the worker; True if everything came to rest in time."""
        rested = self.desk.close()
        if self.worker is not None:
            self.worker.close()
        self.files.close()
        return rested


def open_window(
    document: Document,
    look: Look,
    *,
    path: Path | None = None,
    dialogs: Dialogs | None = None,
    elsewhere: bool = False,
    pipeline: Pipeline | None = None,
    remembered: Remembered | None = None,
    change_look: Callable[[Look], None] | None = None,
) -> Opened:
    """Make the window on a document. ``elsewhere`` searches in a process of its own."""
    worker = Worker() if elsewhere else None
    if worker is not None:
        worker.prepare(get_ready)
    finder: Finder = SearchElsewhere(worker=worker) if worker else search_here
    rooms = pipeline or late_pipeline(plain)
    mixes = built_in_mixes()
    desk = Desk(Workspace(document, path), rooms, finder, first_mix=lambda: mixes[0])
    window = Window(desk, look, mixes=mixes, dialogs=dialogs)
    record = remembered or Remembered(preferences=Preferences(cautions_seen=True))
    files = Files(window, rooms, record)
    all_doings(window, files, record, change_look=change_look)
    desk.begin()
    return Opened(window=window, desk=desk, files=files, worker=worker)
