"""After the ride: which ride a session was, and what its laps came to.

Gets a desk; finds the laps in a job and notes them on the chosen day. Promises: the day keeps what
was measured when it was noted, whatever later becomes of ride, loop or network; it can be undone.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime

import numpy as np

from loopwright.app.desk import Desk
from loopwright.app.parts import Choice, Fold, button, label, row
from loopwright.app.rides_list import ride_title
from loopwright.app.rooms import Rooms
from loopwright.app.words import count, say
from loopwright.errors import NoAnswerError
from loopwright.model.document import Document
from loopwright.model.laps import LapSheet
from loopwright.model.loops import SavedLoop
from loopwright.model.season import RiddenLaps, SeasonPlan, Session
from loopwright.model.track import Ride
from loopwright.season import note_laps
from loopwright.units import duration

Change = Callable[[SeasonPlan, date], SeasonPlan]
MOST_MIN = 600.0
"""A longer recording was left running: its time is not that of the session."""


class RiddenFold(Fold):
    """Asks for the ride of a session. ``change`` takes words and a change of the chosen day."""

    def __init__(self, desk: Desk, change: Callable[[str, date, Change], None]) -> None:
        super().__init__(say("The ride of this day"), open_=False)
        self._desk, self._change = desk, change
        self.session: Session | None = None
        self.rides = Choice()
        self.rides.setAccessibleName(say("Ride of this day"))
        self.told = label("", "soft")
        self.note = button(say("Note its laps"), self.work_out)
        self.forget = button(say("Not this ride"), self._forget)
        self.add(self.rides, self.told)
        self.lines.addLayout(row(self.note, self.forget))

    def _all_rides(self) -> list[Ride]:
        return list(reversed(self._desk.document.rides))

    def show_session(self, session: Session | None) -> None:
        """Show what was ridden of a session; offer the ride of its day first."""
        self.session = session
        rides = self._all_rides()
        self.rides.clear()
        self.rides.addItems([ride_title(ride) for ride in rides])
        if session is not None:
            self.rides.setCurrentIndex(_likely(rides, session))
        self.note.setEnabled(session is not None and bool(rides))
        self.forget.setEnabled(session is not None and session.ridden is not None)
        self.told.setText(self._words(rides))

    def _words(self, rides: list[Ride]) -> str:
        session = self.session
        if session is None:
            return say("Choose a day.")
        if session.ridden is not None:
            return ridden_words(session.ridden)
        if any(rode_on(ride) == session.on for ride in rides):
            return say("There is a ride of this day: note its laps.")
        return say("No ride of this day yet: import it, then note its laps.")

    def work_out(self) -> None:
        """Find the laps of the chosen ride on the session's loop, and note them."""
        rides, session, place = self._all_rides(), self.session, self.rides.currentIndex()
        if session is None or not 0 <= place < len(rides):
            return
        rooms, document, ride = self._desk.rooms, self._desk.document, rides[place]
        loop = loop_for(self._desk, session)
        self._desk.jobs.start(
            "session laps",
            lambda _report: laps_ridden(rooms, document, ride, loop),
            on_done=lambda ridden: self._note(session.on, ride, ridden),
            on_failed=self._desk.failed,
        )

    def _note(self, on: date, ride: Ride, ridden: RiddenLaps) -> None:
        minutes = minutes_of(ride)
        self._change(
            say("Note the laps of a ride"),
            on,
            lambda plan, day: note_laps(plan, day, ridden, minutes=minutes),
        )
        self._desk.tell(ridden_words(ridden))

    def _forget(self) -> None:
        if self.session is not None:
            self._change(
                say("Take a ride off a day"),
                self.session.on,
                lambda plan, day: note_laps(plan, day, None),
            )


def loop_for(desk: Desk, session: Session) -> SavedLoop | None:
    """Find the loop a session holds among those kept and on offer, else take the one in view."""
    loops = [*desk.document.kept, *(candidate.loop for candidate in desk.candidates)]
    held = (loop for loop in loops if session.loop and loop.name == session.loop)
    return next(held, desk.shown)


def laps_ridden(rooms: Rooms, document: Document, ride: Ride, loop: SavedLoop | None) -> RiddenLaps:
    """Sum up the laps of a ride; without a loop, or where it has none, the ride alone is noted."""
    if loop is None:
        return RiddenLaps(ride=ride.id, loop="", laps=0)
    try:
        return summed_up(rooms.lap_sheet(document, ride, loop))
    except NoAnswerError:
        return RiddenLaps(ride=ride.id, loop=loop.name, laps=0)


def summed_up(sheet: LapSheet) -> RiddenLaps:
    """Keep of a lap sheet what a season needs."""
    return RiddenLaps(
        ride=sheet.ride,
        loop=sheet.loop,
        laps=sum(lap.complete for lap in sheet.laps),
        best_s=sheet.best_s,
        median_s=sheet.median_s,
        fade_per_lap_s=sheet.fade_per_lap_s,
        spread_s=sheet.spread_s,
    )


def rode_on(ride: Ride) -> date | None:
    """Day on which a ride began, UTC; None when it carries no times."""
    known = ride.track.time_s[np.isfinite(ride.track.time_s)]
    return datetime.fromtimestamp(float(known[0]), UTC).date() if len(known) else None


def minutes_of(ride: Ride) -> float | None:
    """Minutes from first to last fix; None without times or when it was left running."""
    known = ride.track.time_s[np.isfinite(ride.track.time_s)]
    minutes = round(float(known[-1] - known[0]) / 60) if len(known) else 0
    return float(minutes) if 0 < minutes <= MOST_MIN else None


def _likely(rides: list[Ride], session: Session) -> int:
    """Choose the ride already noted, else one of the day, else the newest."""
    noted = session.ridden.ride if session.ridden else None
    by_id = [place for place, ride in enumerate(rides) if ride.id == noted]
    by_day = [place for place, ride in enumerate(rides) if rode_on(ride) == session.on]
    return next(iter((*by_id, *by_day)), 0)


def ridden_words(ridden: RiddenLaps) -> str:
    """Say what was ridden: laps, best and middle time, how it faded."""
    if ridden.laps == 0:
        place = say(" on {loop}", loop=ridden.loop) if ridden.loop else ""
        return say("Ridden; no whole lap{place} found", place=place)
    parts = [
        count(ridden.laps, "Ridden: 1 lap", "Ridden: {n} laps")
        + say(" on {loop}", loop=ridden.loop)
    ]
    if ridden.best_s is not None:
        parts.append(say("best {time}", time=duration(ridden.best_s)))
    if ridden.median_s is not None and ridden.laps > 1:
        parts.append(say("middle {time}", time=duration(ridden.median_s)))
    if ridden.fade_per_lap_s is not None:
        parts.append(say("{fade} s a lap", fade=f"{ridden.fade_per_lap_s:+.1f}"))
    if ridden.spread_s is not None:
        parts.append(say("spread {s} s", s=f"{ridden.spread_s:.1f}"))
    return ", ".join(parts)
