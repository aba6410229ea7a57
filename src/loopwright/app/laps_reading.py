"""What the rooms say of a ride on a loop: its laps, its climbs with their targets, other rides.

Gets the rooms, a document and a loop; works off the window's thread. Promises: laps, climbs and
targets read together belong to the same course; one ride that cannot be read does not keep the
others from being read.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from loopwright.app.rooms import Rooms
from loopwright.app.words import say
from loopwright.errors import NoAnswerError
from loopwright.geo.frame import origin_for, to_local
from loopwright.jobs import Report
from loopwright.model.arrays import Floats
from loopwright.model.document import Document
from loopwright.model.laps import LapSheet
from loopwright.model.loops import SavedLoop
from loopwright.model.rider import SplitTarget
from loopwright.model.track import Ride

if TYPE_CHECKING:
    from loopwright.laps.climbs import ClimbLap
    from loopwright.laps.sections import CornerLaps, SectionTimes

PROBES = 16
"""Places along a loop that a ride is asked for before its laps are looked for."""
NEAR_M = 150.0
"""Further than the matching reaches, with room for a fix every ten seconds or more."""
ENOUGH = 0.75
"""A gap in the recording may hide some of the places."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LapsRead:
    """One ride on one loop: its sheet, what it says by section, corner and climb.

    ``targets`` is what the plan asks of climbs by number.
    """

    sheet: LapSheet
    sections: tuple[SectionTimes, ...] = ()
    corners: tuple[CornerLaps, ...] = ()
    climbs: tuple[ClimbLap, ...] = ()
    targets: Mapping[int, SplitTarget] = field(default_factory=dict)


def read_ride(rooms: Rooms, document: Document, ride: Ride, loop: SavedLoop) -> LapsRead:
    """Find the laps of a ride and measure their climbs.

    Raises NoAnswerError when the ride or the loop cannot be used.
    """
    from loopwright.laps import climb_laps, corner_laps, section_times

    sheet = rooms.lap_sheet(document, ride, loop)
    course = rooms.course(document, loop)
    climbs = climb_laps(sheet, course, recorded=ride.track)
    plan = rooms.plan(document, course)
    return LapsRead(
        sheet=sheet, sections=section_times(sheet), corners=corner_laps(sheet),
        climbs=climbs, targets=climb_targets(plan.splits),
    )  # fmt: skip


def climb_targets(splits: Sequence[SplitTarget]) -> dict[int, SplitTarget]:
    """Give what the plan asks of each climb it names a gear for, by the feature's number."""
    out: dict[int, SplitTarget] = {}
    for split in splits:
        if split.cadence_rpm is not None:
            out.setdefault(split.number, split)
    return out


def read_all(
    rooms: Rooms, document: Document, loop: SavedLoop, report: Report
) -> tuple[LapSheet, ...]:
    """Give the sheets of all rides with a complete lap of a loop, in the document's order.

    Raises NoAnswerError when the loop cannot be used, Cancelled when asked to stop.
    """
    rooms.course(document, loop)
    likely = [ride for ride in document.rides if may_have_ridden(ride, loop.line)]
    sheets: list[LapSheet] = []
    for number, ride in enumerate(likely):
        words = say("ride {n} of {all}", n=number + 1, all=len(likely))
        report.step(number / len(likely), words)
        try:
            sheet = rooms.lap_sheet(document, ride, loop)
        except NoAnswerError:
            continue
        if sheet.best_s is not None:
            sheets.append(sheet)
    return tuple(sheets)


def may_have_ridden(ride: Ride, line: Floats) -> bool:
    """Tell whether a ride came near most of a line, ``(n, 2)`` or more columns of lon, lat.

    A quick look that lets through too many rather than too few.
    """
    at = np.linspace(0, len(line) - 1, PROBES).astype(int)
    origin = origin_for(line[at, 1], line[at, 0])
    places = to_local(origin, line[at, 1], line[at, 0])
    fixes = to_local(origin, ride.track.lat, ride.track.lon)
    if not len(fixes):
        return False
    near = [bool(np.min(np.hypot(*(fixes - one).T)) < NEAR_M) for one in places]
    return sum(near) >= ENOUGH * PROBES
