"""Rides by date, each with what was wrong with it.

Gets rides and clean tracks; gives rows of words. Promises: every fault found is told in words; a
ride that adds nothing says why.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from math import isfinite

from loopwright.app.told import told
from loopwright.app.words import capital, say
from loopwright.model.ids import RideId
from loopwright.model.track import CleanTrack, Ride, RideRole


def ride_day(ride: Ride) -> str:
    """Day of a ride, or that it has no times."""
    first = next(filter(isfinite, ride.track.time_s), None)
    if first is None:
        return say("no date")
    return datetime.fromtimestamp(float(first), UTC).date().isoformat()


def ride_title(ride: Ride) -> str:
    """Day and name."""
    name = ride.track.name or ride.track.source
    return say("{day}  {name}", day=ride_day(ride), name=name)


def ride_state(ride: Ride, track: CleanTrack | None) -> str:
    """Say what a ride is used for and what was wrong with it."""
    if ride.role is RideRole.RACE:
        return say("Race lap to copy")
    if ride.hidden:
        return say("Left out")
    if track is None:
        return ""
    faults = all_faults(track)
    if not track.used:
        return say("Adds nothing: {why}", why=faults or say("nothing usable"))
    if len(track.faults) > 1:
        first = capital(told(track.faults[0].words))
        return say("{first}, and {n} more", first=first, n=len(track.faults) - 1)
    return capital(faults) if faults else say("Clean")


def all_faults(track: CleanTrack) -> str:
    """Say everything that was wrong with a ride."""
    return "; ".join(told(fault.words) for fault in track.faults)


def by_ride(tracks: Sequence[CleanTrack]) -> Mapping[RideId, CleanTrack]:
    """Clean tracks by ride."""
    return {track.ride: track for track in tracks}
