"""Choose a race lap: one of the area, or another recording.

Gets a window and what to do with the lap. Promises: nothing happens when the person thinks better
of it; a recording is read in a job and kept in the area as a race lap.
"""

from __future__ import annotations

from collections.abc import Callable

from loopwright.app.dialogs import RIDE_FILES
from loopwright.app.files import Files
from loopwright.app.rides_list import ride_title
from loopwright.app.window import Window
from loopwright.app.words import say
from loopwright.model.track import Ride, RideRole


def pick_race_lap(window: Window, files: Files, title: str, then: Callable[[Ride], None]) -> None:
    """Ask for a race lap of the area, or for a recording of one, and go on with it."""
    laps = [r for r in window.desk.document.rides if r.role is RideRole.RACE]
    choice: int | None = len(laps)
    if laps:
        names = [*(ride_title(lap) for lap in laps), say("Another recording…")]
        choice = window.dialogs.pick(title, say("Which race lap?"), names)
    if choice is None:
        return
    if choice < len(laps):
        then(laps[choice])
        return
    paths = window.dialogs.open_files(say("Recording of a race lap"), RIDE_FILES)
    if paths:
        files.import_paths(paths, RideRole.RACE, then=lambda rides: _first(rides, then))


def _first(rides: tuple[Ride, ...], then: Callable[[Ride], None]) -> None:
    if rides:
        then(rides[0])
