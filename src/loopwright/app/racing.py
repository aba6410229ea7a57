"""A race lap as what to ask for at home.

Gets a window; measures a recorded race lap in a job and makes it the mix. Promises: the race is
measured by the same rules as any loop.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from loopwright import edits
from loopwright.app.files import Files
from loopwright.app.race_picking import pick_race_lap
from loopwright.app.rides_list import ride_title
from loopwright.app.window import Window
from loopwright.app.words import say
from loopwright.jobs import Report
from loopwright.model.document import Document
from loopwright.model.track import Ride
from loopwright.model.wishes import Mix

if TYPE_CHECKING:
    from loopwright.pipeline import Pipeline


class Racing:
    """The race action of one window."""

    def __init__(self, window: Window, files: Files) -> None:
        self.window, self.desk, self.files = window, window.desk, files

    def doings(self) -> dict[str, Callable[[], object]]:
        """Say what the action does."""
        return {"copy_race": self.copy}

    def copy(self) -> None:
        """Ask for a race lap of the area, or for a recording of one."""
        pick_race_lap(self.window, self.files, say("Copy a race lap"), self._measure)

    def _measure(self, lap: Ride) -> None:
        longest = self.desk.wishes.max_length_m
        work = partial(_mix, self.files.rooms, self.desk.document, lap, longest)
        self.desk.jobs.start("race", work, on_done=self._ask, on_failed=self.desk.failed)

    def _ask(self, mix: Mix) -> None:
        wishes = replace(self.desk.wishes, mix=mix)

        def edit(document: Document) -> Document:
            return edits.set_wishes(edits.keep_mix(document, mix), wishes)

        self.desk.apply(say("Ask for {mix}", mix=mix.name), edit)


def _mix(rooms: Pipeline, document: Document, lap: Ride, longest_m: float, report: Report) -> Mix:
    from loopwright.demands import race_mix

    report.step(0.0, ride_title(lap))
    return race_mix(rooms, document, lap, longest_m=longest_m)
