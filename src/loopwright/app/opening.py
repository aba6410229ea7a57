"""Put the window together: workspace, desk, finder, look.

Gets a document and choices; gives a window that does its work. Promises: nothing slow happens here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from loopwright import elsewhere
from loopwright.app.away import get_ready
from loopwright.app.desk import Desk
from loopwright.app.dialogs import Dialogs
from loopwright.app.doings import all_doings
from loopwright.app.files import Files
from loopwright.app.late import kept, late_pipeline, plain
from loopwright.app.look import Look
from loopwright.app.remembered import Remembered
from loopwright.app.window import Window
from loopwright.app.worker import Worker
from loopwright.io.preferences import Preferences
from loopwright.jobs import Runner, run_here
from loopwright.loops.mixes import built_in_mixes
from loopwright.model.document import Document
from loopwright.workspace import Workspace

if TYPE_CHECKING:
    from loopwright.pipeline import Pipeline


@dataclass(frozen=True, kw_only=True, eq=False)
class Opened:
    """A window with what it stands on; ``close`` ends everything."""

    window: Window
    desk: Desk
    files: Files
    workers: tuple[Worker, ...]

    def close(self) -> bool:
        """End all jobs and the worker; True if everything came to rest in time."""
        rested = self.desk.close()
        for worker in self.workers:
            worker.close()
        self.files.close()
        return rested


@dataclass(frozen=True, kw_only=True, eq=False)
class Furniture:
    """What a window is to be furnished with.

    ``elsewhere`` gives processes of their own to the search, to fit and plan and, once asked, to
    what weighs for long; networks are then kept between starts.
    """

    document: Document
    path: Path | None = None
    elsewhere: bool = False
    pipeline: Pipeline | None = None
    remembered: Remembered | None = None
    change_look: Callable[[Look], None] | None = None

    def put_into(self, window: Window) -> Iterator[Opened | None]:
        """Furnish a window piece by piece; the last step gives it opened."""
        away: Runner = run_here
        aside: Runner = run_here
        rooms = self.pipeline or late_pipeline(plain)
        workers: tuple[Worker, ...] = ()
        if self.elsewhere:
            searcher, planner, weigher = workers = (
                Worker("search"), Worker("plan"), Worker("weigh"))  # fmt: skip
            searcher.prepare(get_ready)
            planner.prepare(elsewhere.get_ready)
            away, aside = searcher.call, weigher.call
            rooms = late_pipeline(partial(kept, planner.call))
        mixes = built_in_mixes()
        desk = Desk(
            Workspace(self.document, self.path), rooms, away,
            aside=aside, first_mix=lambda: mixes[0],
        )  # fmt: skip
        yield from window.furnish(desk, mixes)
        record = self.remembered or Remembered(preferences=Preferences(cautions_seen=True))
        files = Files(window, rooms, record)
        yield None
        all_doings(window, files, record, change_look=self.change_look)
        window.open_up()
        desk.begin()
        yield Opened(window=window, desk=desk, files=files, workers=workers)


def open_window(
    document: Document,
    look: Look,
    *,
    dialogs: Dialogs | None = None,
    pipeline: Pipeline | None = None,
    remembered: Remembered | None = None,
) -> Opened:
    """Make a window and furnish it on a document at one go."""
    furniture = Furniture(document=document, pipeline=pipeline, remembered=remembered)
    *_, opened = furniture.put_into(Window(look, dialogs=dialogs))
    assert opened is not None  # noqa: S101 - the last step gives it
    return opened
