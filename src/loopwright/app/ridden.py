"""The ride in view: its laps on the loop in view, and where the time went.

Gets a desk; reads laps in a job. Promises: a sheet belongs to the loop and ride it was read for,
and goes when either changes.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np
from PySide6.QtCore import QObject, Signal

from loopwright.app.lap_rows import Stretched
from loopwright.app.laps_reading import LapsRead, read_ride
from loopwright.app.rides_list import ride_day
from loopwright.app.words import say
from loopwright.jobs import Report
from loopwright.model.arrays import Floats
from loopwright.model.frame import Origin
from loopwright.model.laps import Lap, LapSheet
from loopwright.model.loops import SavedLoop
from loopwright.model.track import Ride
from loopwright.model.wishes import Wishes

if TYPE_CHECKING:
    from loopwright.app.desk import Desk


class Ridden(QObject):
    """Laps of one ride."""

    sheet_changed = Signal()
    stretched_changed = Signal()

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._desk = desk
        self.found: LapsRead | None = None
        self.stretched: tuple[Stretched, ...] = ()
        self.lap: Lap | None = None
        desk.shown_changed.connect(self.forget)

    @property
    def sheet(self) -> LapSheet | None:
        """The laps read, None until there are any."""
        return self.found.sheet if self.found else None

    @property
    def lap_in_view(self) -> Lap | None:
        """The lap shown, while the Laps place is; elsewhere nobody asked for it."""
        return self.lap if self._desk.place == "laps" else None

    def forget(self) -> None:
        """Drop the sheet: the loop in view is another."""
        self._desk.jobs.drop("laps")
        self._set(None)

    def read(self, ride: Ride) -> None:
        """Find the laps of a ride on the loop in view."""
        desk = self._desk
        document, loop = desk.document, desk.shown
        if loop is None:
            return
        desk.jobs.start(
            "laps",
            lambda _report: read_ride(desk.rooms, document, ride, loop),
            on_done=self._set,
            on_failed=desk.failed,
        )
        desk.told.emit()

    def _set(self, found: LapsRead | None) -> None:
        if found is None and self.found is None:
            return
        self.found = found
        self.show((), None)
        self.sheet_changed.emit()

    def show(self, stretched: tuple[Stretched, ...], lap: Lap | None) -> None:
        """Show on the map where the time of one lap went, and its speed on the profile."""
        if stretched != self.stretched or lap is not self.lap:
            self.stretched, self.lap = stretched, lap
            self.stretched_changed.emit()

    def find_circuit(self, ride: Ride, found: Callable[[SavedLoop | None], None]) -> None:
        """Find the circuit a ride repeats, as a loop that can be kept."""
        desk = self._desk
        document, wishes = desk.document, desk.wishes

        def work(report: Report) -> SavedLoop | None:
            origin = document.origin
            line = desk.rooms.circuit(document, ride, report)
            if line is None or origin is None:
                return None
            return loop_of(line, origin, ride, wishes=wishes)

        desk.jobs.start("laps", work, on_done=found, on_failed=desk.failed)


def loop_of(xy: Floats, origin: Origin, ride: Ride, *, wishes: Wishes) -> SavedLoop:
    """Give a ridden circuit ``(n, 2)`` the form of a kept loop; it answers to no mix."""
    from loopwright.geo.frame import to_degrees

    lat, lon = to_degrees(origin, xy)
    return SavedLoop(
        name=say("Ridden {day}", day=ride_day(ride)),
        line=np.column_stack((lon, lat, np.full(len(xy), np.nan))),
        wishes=wishes,
        score=0.0,
        match=0.0,
    )
