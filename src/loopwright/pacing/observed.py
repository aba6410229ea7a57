"""What rides say of a rider: times over pieces of trail.

Gets clean tracks and the terrain built from them. Gives one lane of all usable passes, end to end,
with the times the rider took over sections of about 100 m. Promises: sections with stops or with
broken recording are left out; junctions, where the next corner is not in the piece, too.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from loopwright.geo.polyline import project
from loopwright.model.arrays import Floats, Ints
from loopwright.model.ground import Terrain
from loopwright.model.ids import Arc, RideId, Way
from loopwright.model.network import Pass
from loopwright.model.track import CleanTrack
from loopwright.pacing.arc_lane import ArcLane, air_of, arc_lane, end_to_end
from loopwright.pacing.lane import Lane

LEAVE_M = 12
"""Metres left out after a junction, where the speed still shows the corner before."""
COMING_M = 30
"""Metres left out before a junction, where riders brake for what comes."""
SECTION_M = 100.0
SHORTEST_M = 50
MOST_M = 25_000.0
"""More trail than this adds time, not knowledge; passes are then thinned evenly."""
SLOWEST_MPS = 0.7
SILENCE_S = 15.0
STILL_S = 14.0
STILL_M = 7.0
"""Getting on by less than 7 m in 14 s is standing; walking with the bicycle is faster."""
RECEIVER_M = 3.0
RECEIVER_TAU_S = 60.0
"""Error of one axis of a receiver and how long it lasts, for the trust in a section's time."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Observed:
    """Passes end to end on a 1 m grid, and sections of them with the times taken.

    ``firsts`` ``(m + 1,)`` and ``entry_mps`` ``(m,)`` per piece; ``begin`` and ``end`` (places on
    the lane), ``time_s``, ``error_s`` and ``ride`` (numbers) ``(k,)`` per section.
    """

    lane: Lane
    firsts: Ints
    entry_mps: Floats
    begin: Ints
    end: Ints
    time_s: Floats
    error_s: Floats
    ride: Ints
    rides: int

    @property
    def metres(self) -> float:
        """Metres of trail with a time."""
        return float((self.end - self.begin).sum())


@dataclass(frozen=True, slots=True, kw_only=True)
class _Piece:
    ride: int
    lane: ArcLane
    entry_mps: float
    marks: Ints
    times: Floats
    stood: np.ndarray[tuple[int], np.dtype[np.bool_]]


def observe(tracks: Sequence[CleanTrack], terrain: Terrain) -> Observed | None:
    """Collect what the tracks say; None when nothing is usable."""
    pieces = _thinned(list(_pieces(tracks, terrain)))
    if not pieces:
        return None
    lane, firsts = end_to_end([piece.lane for piece in pieces], air_of(terrain))
    begin = np.concatenate([first + p.marks[:-1] for first, p in zip(firsts, pieces, strict=False)])
    end = np.concatenate([first + p.marks[1:] for first, p in zip(firsts, pieces, strict=False)])
    time = np.concatenate([np.diff(piece.times) for piece in pieces])
    ride = np.concatenate([np.full(len(piece.marks) - 1, piece.ride) for piece in pieces])
    good = ~np.concatenate([piece.stood for piece in pieces]) & (time > 0)
    good &= (end - begin) / np.maximum(time, 1e-3) > SLOWEST_MPS
    numbers = np.unique(ride[good])
    if len(numbers) == 0:
        return None
    return Observed(
        lane=lane,
        firsts=firsts,
        entry_mps=np.array([piece.entry_mps for piece in pieces]),
        begin=begin[good].astype(np.int32),
        end=end[good].astype(np.int32),
        time_s=time[good],
        error_s=_error_s(time[good], (end - begin)[good]),
        ride=np.searchsorted(numbers, ride[good]).astype(np.int32),
        rides=len(numbers),
    )


def _error_s(time: Floats, metres: Ints) -> Floats:
    shared = np.exp(-time / RECEIVER_TAU_S)
    return np.asarray(RECEIVER_M * np.sqrt(2 * (1 - shared)) * time / metres)


def _thinned(pieces: list[_Piece]) -> list[_Piece]:
    total = sum(float(piece.marks[-1]) for piece in pieces)
    every = max(total / MOST_M, 1.0)
    picked = {int(k * every) for k in range(int(len(pieces) / every) + 1)}
    return [piece for k, piece in enumerate(pieces) if k in picked]


def _pieces(tracks: Sequence[CleanTrack], terrain: Terrain) -> Iterator[_Piece]:
    """Usable passes in a fixed order: by stretch, then ride, then place in the ride."""
    known = {track.ride: (number, track) for number, track in enumerate(tracks) if track.used}
    lanes: dict[Arc, ArcLane] = {}
    for stretch in terrain.network.stretches:
        if stretch.id not in terrain.profiles:
            continue
        for one in stretch.passes:
            if one.ride in known:
                arc = (stretch.id, one.way)
                lane = lanes.setdefault(arc, arc_lane(terrain, arc))
                piece = _piece(terrain, arc, lane, one, known)
                if piece is not None:
                    yield piece


def _piece(
    terrain: Terrain, arc: Arc, lane: ArcLane, one: Pass,
    known: Mapping[RideId, tuple[int, CleanTrack]],
) -> _Piece | None:  # fmt: skip
    number, track = known[one.ride]
    ridden = _ridden(terrain, arc, track, one)
    if ridden is None:
        return None
    progress, time = ridden
    begin = max(LEAVE_M, int(np.ceil(progress[0])))
    end = min(len(lane.grade) - 1 - COMING_M, int(progress[-1]))
    if end - begin < SHORTEST_M:
        return None
    marks = np.linspace(0, end - begin, max(round((end - begin) / SECTION_M), 1) + 1).astype(int)
    around = np.interp(begin + np.array([-4.0, 4.0]), progress, time)
    reach = np.interp(around, time, progress)
    entry = (reach[1] - reach[0]) / max(around[1] - around[0], 0.5)
    return _Piece(
        ride=number,
        lane=lane.part(begin, end),
        entry_mps=float(np.clip(entry, 0.5, 16.0)),
        marks=marks,
        times=np.interp(begin + marks, progress, time),
        stood=_stood(progress, time, np.interp(begin + marks, progress, time)),
    )


def _stood(
    progress: Floats, time: Floats, edges: Floats
) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Tell for each section between ``edges`` (seconds) whether the rider stood still in it."""
    half = STILL_S / 2
    low, high = np.maximum(time - half, time[0]), np.minimum(time + half, time[-1])
    gone = np.interp(high, time, progress) - np.interp(low, time, progress)
    still = time[(gone < STILL_M) & (high - low >= STILL_S - 1e-6)]
    counts = np.searchsorted(still, edges)
    return np.asarray(np.diff(counts) > 0)


def _ridden(
    terrain: Terrain, arc: Arc, track: CleanTrack, one: Pass
) -> tuple[Floats, Floats] | None:
    """Progress along the arc and time ``(n,)`` of a pass; None if it is not one clean run."""
    for piece in track.pieces:
        a, b = np.searchsorted(piece.index, [one.first, one.last + 1])
        time = piece.time_s[a:b]
        if b - a < 3 or not np.isfinite(time).all() or np.diff(time).max() > SILENCE_S:
            continue
        profile = terrain.profiles[arc[0]]
        along, _ = project(profile.xy, piece.xy[a:b])
        along *= float(profile.dist_m[-1]) / max(_length(profile.xy), 1e-9)
        if arc[1] is Way.BACKWARD:
            along = float(profile.dist_m[-1]) - along
        up = np.maximum.accumulate(along)
        down = np.minimum.accumulate(along[::-1])[::-1]
        rising = (up + down) / 2 + 1e-6 * np.arange(len(along))
        if rising[-1] - rising[0] > SHORTEST_M and (np.diff(time) > 0).all():
            return rising, time
    return None


def _length(xy: Floats) -> float:
    return float(np.hypot(*np.diff(xy, axis=0).T).sum())
