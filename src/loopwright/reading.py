"""Recordings from files and folders into an area: the work behind import.

Gets paths, gives rides and one line for each file that could not be read. Promises: a bad file
among good ones is told and skipped; the same recording counts once.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TypeAlias

from loopwright.errors import WorldError
from loopwright.jobs import Report
from loopwright.model.document import Document
from loopwright.model.track import Ride, RideRole

Taken: TypeAlias = tuple[Document, tuple[Ride, ...]]
"""The next document, and rides that lie too far away to belong to it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What came of reading files: rides, and complaints in plain words."""

    rides: tuple[Ride, ...]
    complaints: tuple[str, ...]


def track_files(sources: Iterable[Path]) -> list[Path]:
    """List files as given, and recordings anywhere below folders, by name."""
    from loopwright.io.tracks import TRACK_SUFFIXES

    files: list[Path] = []
    for source in sources:
        if source.is_dir():
            files += sorted(
                p for p in source.rglob("*") if p.suffix.lower() in TRACK_SUFFIXES and p.is_file()
            )
        else:
            files.append(source)
    return files


def read_rides(sources: Sequence[Path], role: RideRole, report: Report) -> Reading:
    """Read files and folders, telling how far it is."""
    from loopwright.io.tracks import read_tracks, ride_id

    files = track_files(sources)
    rides: list[Ride] = []
    complaints: list[str] = []
    for number, path in enumerate(files):
        report.step(number / len(files), path.name)
        try:
            tracks = read_tracks(path)
        except WorldError as error:
            complaints.append(str(error))
            continue
        rides += [Ride(id=ride_id(track), track=track, role=role) for track in tracks]
    return Reading(rides=tuple(rides), complaints=tuple(complaints))


def take_in(document: Document, rides: Sequence[Ride]) -> Taken:
    """Add rides of this place, and race laps from anywhere; give the rides too far away."""
    from loopwright.gather import add_races, gather

    races = [ride for ride in rides if ride.role is RideRole.RACE]
    after, far = gather(document, [ride for ride in rides if ride.role is RideRole.RIDE])
    return (add_races(after, races) if races else after), far
