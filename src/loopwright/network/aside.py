"""Which parts of rides no line shows.

Gets samples matched to the finished lines; gives the parts that lie beside a line and on none, and
tells them in the rides' reports.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from loopwright.model.arrays import Floats
from loopwright.model.ids import RideId
from loopwright.model.network import Aside, Network
from loopwright.model.track import CleanTrack, Fault, FaultKind
from loopwright.network.cover import SHORTEST_RUN_M
from loopwright.network.refit import REACH_M
from loopwright.network.rows import Rows, firsts
from loopwright.network.samples import STEP_M, Samples
from loopwright.network.stations import Abreast, Stations
from loopwright.network.strays import FURTHEST_M

HOLE_ROWS = 2
"""So few samples that touch a line in passing do not part what lies beside it."""
AWAY_TIMES = 5.0
"""So many times its usual distance from the lines a ride is not on them: what it errs by grows in
places, and twice to three times is common in shade."""
PLACES = 3
"""So many places a report names; more are counted."""


def asides_of(
    table: Stations, near: Abreast, samples: Samples, xy: Floats, *, rides: Sequence[RideId]
) -> list[Aside]:
    """Find the parts of rides beside the lines of ``table``; ``rides`` names the ride numbers.

    ``xy`` ``(n, 2)`` are the samples' places with only slow errors taken out. A part is at least as
    long as the shortest run that is ever kept as a line.
    """
    gap = table.gap_m(xy)
    rows = np.flatnonzero((near.station < 0) | (gap > _away_m(samples, gap)))
    if len(rows) == 0:
        return []
    new = (np.diff(rows) > HOLE_ROWS + 1) | (np.diff(samples.piece[rows]) != 0)
    start = np.concatenate(([0], np.flatnonzero(new) + 1))
    first, last = rows[start], rows[np.append(start[1:], len(rows)) - 1]
    size = samples.dist[last] - samples.dist[first] + STEP_M
    told = (size >= SHORTEST_RUN_M) & (np.maximum.reduceat(gap[rows], start) <= FURTHEST_M)
    from_m = _starts_m(samples)[samples.piece[first]] + samples.dist[first]
    return [
        Aside(
            ride=rides[samples.ride[first[k]]],
            from_m=float(from_m[k]),
            length_m=float(size[k]),
            first=int(np.floor(samples.point[first[k]])),
            last=int(np.ceil(samples.point[last[k]])),
        )
        for k in np.flatnonzero(told).tolist()
    ]


def _away_m(samples: Samples, gap: Floats) -> Floats:
    """Metres ``(n,)`` from the lines at which each sample no longer lies on them."""
    lead = firsts(samples.ride)
    sizes = np.diff(np.append(lead, len(gap)))
    usual = [np.median(gap[a : a + size]) for a, size in zip(lead, sizes, strict=True)]
    return np.repeat(np.maximum(AWAY_TIMES * np.array(usual), REACH_M), sizes)


def with_asides(tracks: Sequence[CleanTrack], network: Network) -> tuple[CleanTrack, ...]:
    """Add to each ride's report what of it ``network`` does not show."""
    found: dict[RideId, list[Aside]] = {}
    for aside in network.asides:
        found.setdefault(aside.ride, []).append(aside)
    return tuple(
        replace(track, faults=(*track.faults, _fault(found[track.ride])))
        if track.ride in found
        else track
        for track in tracks
    )


def _fault(asides: Sequence[Aside]) -> Fault:
    """Say in one line how much of a ride was not drawn, and where."""
    metres = sum(aside.length_m for aside in asides)
    places = [f"{aside.from_m / 1000:.1f}" for aside in asides[:PLACES]]
    where = f"{', '.join(places[:-1])} and {places[-1]}" if places[1:] else places[0]
    if len(asides) > PLACES:
        where = f"{', '.join(places)} km and {len(asides) - PLACES} more"
    else:
        where += " km"
    words = f"{metres:.0f} m beside a better ridden line were not drawn as a trail of their own"
    return Fault(kind=FaultKind.ASIDE, words=f"{words}, at {where}", count=len(asides))


def _starts_m(samples: Samples) -> Floats:
    """Metres of its ride before each piece ``(p,)``."""
    length = samples.dist[samples.first[1:] - 1]
    before = np.cumsum(length) - length
    ride: Rows = samples.ride[samples.first[:-1]]
    lead = firsts(ride)
    return np.asarray(before - np.repeat(before[lead], np.diff(np.append(lead, len(ride)))))
