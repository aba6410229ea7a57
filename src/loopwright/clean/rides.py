"""From recordings to clean tracks.

Gets rides; gives one clean track each, in order, with what was found wrong in plain words.
Promises: a ride that adds nothing is kept in the list with ``used`` False and the reason.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from loopwright.clean.copies import Copy, copies
from loopwright.clean.gaps import with_gaps
from loopwright.clean.levels import with_heights
from loopwright.clean.offsets import height_offsets
from loopwright.clean.private import trimmed
from loopwright.clean.spikes import without_spikes
from loopwright.clean.stops import without_pauses, without_repeats
from loopwright.clean.strand import Strand, numbered, shared, steps_m, strand_of
from loopwright.clean.times import in_time
from loopwright.jobs import Report, Silent
from loopwright.model.document import PrivateCircle
from loopwright.model.frame import Origin
from loopwright.model.track import CleanTrack, Fault, FaultKind, RecordedTrack, Ride, TrackPiece

LEAST_ROWS = 5
LEAST_M = 50.0
"""A ride must leave a circle of this size to show a trail."""
LEAST_PIECE_M = 10.0
FAR_M = 200_000.0
"""Beyond this the local frame stretches lengths by more than 0.05 %."""
MOTOR_M_S = 25.0
"""A median of 90 km/h is no bicycle."""


def clean_rides(
    rides: Sequence[Ride],
    origin: Origin,
    *,
    private: PrivateCircle | None = None,
    report: Report | None = None,
) -> tuple[CleanTrack, ...]:
    """Clean every ride; find copies among them."""
    report = report or Silent()
    tracks = []
    for number, ride in enumerate(rides):
        report.check()
        report.step(0.9 * number / len(rides), "cleaning rides")
        tracks.append(_cleaned(ride, origin, private))
    told = _with_offsets(tracks)
    return tuple(_without_copies(told))


def _cleaned(ride: Ride, origin: Origin, private: PrivateCircle | None) -> CleanTrack:
    strand = in_time(strand_of(ride.track, origin))
    strand = without_spikes(strand)
    strand = trimmed(strand, private, origin)
    strand = without_repeats(strand)
    strand = without_pauses(strand)
    strand = with_gaps(strand)
    strand = with_heights(strand)
    reason = _useless(strand)
    if reason:
        strand = strand.note(FaultKind.USELESS, reason)
        return CleanTrack(ride=ride.id, pieces=(), faults=strand.faults, used=False)
    return CleanTrack(ride=ride.id, pieces=_pieces(strand, ride.track), faults=strand.faults)


def _useless(strand: Strand) -> str:
    if len(strand) < LEAST_ROWS:
        return f"only {len(strand)} usable points: nothing to learn from"
    extent = float(np.hypot(*np.ptp(strand.xy, axis=0)))
    if extent < LEAST_M:
        return f"stays within {extent:.0f} m: shows no trail"
    away = float(np.median(np.hypot(*strand.xy.T)))
    if away > FAR_M:
        return f"lies {away / 1000:.0f} km from this area: make it an area of its own"
    if strand.timed:
        step = steps_m(strand.xy)
        pace = float(np.median(step / np.maximum(np.diff(strand.time), 1e-3)))
        if pace > MOTOR_M_S:
            return f"median speed {pace * 3.6:.0f} km/h: recorded in a vehicle"
    if not _parts(strand):
        return "falls apart into single points: nothing to learn from"
    return ""


def _parts(strand: Strand) -> list[slice]:
    """Rows of each piece long enough to tell anything."""
    starts = np.flatnonzero(strand.cut)
    stops = np.append(starts[1:], len(strand))
    return [
        slice(int(a), int(b))
        for a, b in zip(starts, stops, strict=True)
        if b - a >= 2 and steps_m(strand.xy[a:b]).sum() >= LEAST_PIECE_M
    ]


def _pieces(strand: Strand, track: RecordedTrack) -> tuple[TrackPiece, ...]:
    """Make the pieces; what the recording already holds is looked at there, not copied."""
    return tuple(
        TrackPiece(
            xy=strand.xy[part],
            ele_m=shared(strand.ele[part], track.ele_m, strand.index[part]),
            time_s=shared(strand.time[part], track.time_s, strand.index[part]),
            index=numbered(strand.index[part]),
        )
        for part in _parts(strand)
    )


def _with_offsets(tracks: Sequence[CleanTrack]) -> list[CleanTrack]:
    offsets = height_offsets(tracks)
    told = []
    for track, offset in zip(tracks, offsets, strict=True):
        words = f"heights read {abs(offset):.0f} m {'high' if offset > 0 else 'low'}; levelled"
        fault = Fault(kind=FaultKind.HEIGHT_OFFSET, words=words)
        told.append(replace(track, faults=(*track.faults, fault)) if offset else track)
    return told


def _without_copies(tracks: Sequence[CleanTrack]) -> list[CleanTrack]:
    found: dict[int, Copy] = copies(tracks)
    out = []
    for number, track in enumerate(tracks):
        copy = found.get(number)
        if copy is None:
            out.append(track)
            continue
        fault = Fault(kind=copy.kind, words=copy.words)
        out.append(replace(track, pieces=(), used=False, faults=(*track.faults, fault)))
    return out
