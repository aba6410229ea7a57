"""What rides say of a rider: times over pieces of trail.

Gets clean tracks and the terrain built from them. Gives one lane of all usable riding, end to end,
with the times the rider took over sections of about 100 m. Promises: sections with stops or with
broken recording are left out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from loopwright.model.arrays import Floats, Ints
from loopwright.model.ground import Terrain
from loopwright.model.track import CleanTrack
from loopwright.pacing.arc_lane import ArcLane, air_of, end_to_end
from loopwright.pacing.lane import Lane
from loopwright.pacing.walks import Walk, walks_of

LEAVE_M = 10
"""Metres left out at the start of a walk, so that the speed there is known."""
COMING_M = 30
"""Metres left out at the end of a walk, where riders brake for what comes."""
ENTRY_M = 8.0
SECTIONS = 6
"""Sections in a piece; each piece starts again from the speed seen."""
SECTION_M = 100.0
SHORTEST_M = 50
MOST_M = 40_000.0
"""More trail than this adds time, not knowledge; passes are then thinned evenly."""
SLOWEST_MPS = 0.7
STILL_S = 14.0
STILL_M = 7.0
"""Getting on by less than 7 m in 14 s is standing; walking with the bicycle is faster."""
RECEIVER_M = 3.0
RECEIVER_TAU_S = 60.0
"""Error of one axis of a receiver and how long it lasts, for the trust in a section's time."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Observed:
    """Passes end to end on a 1 m grid, and sections of them with the times taken.

    ``part`` ``(n,)`` numbers the parts of trail. ``firsts`` ``(m + 1,)`` and ``entry_mps``
    ``(m,)`` per piece; ``begin`` and ``end`` (places on the lane), ``time_s``, ``error_s`` and
    ``ride`` (numbers) ``(k,)`` per section.
    """

    lane: Lane
    part: Ints
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
class Piece:
    """Sections between ``marks`` (places on ``lane``) with the ``times`` at them."""

    ride: int
    lane: ArcLane
    entry_mps: float
    marks: Ints
    times: Floats
    stood: np.ndarray[tuple[int], np.dtype[np.bool_]]


def observe(
    pieces: Sequence[Piece], terrain: Terrain, *, most_m: float = MOST_M
) -> Observed | None:
    """Collect what pieces of rides say, thinned to ``most_m``; None when nothing is usable."""
    pieces = _thinned(pieces, most_m)
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
        part=np.concatenate([piece.lane.part for piece in pieces]),
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


def _thinned(pieces: Sequence[Piece], most_m: float) -> list[Piece]:
    total = sum(float(piece.marks[-1]) for piece in pieces)
    every = max(total / most_m, 1.0)
    picked = {int(k * every) for k in range(int(len(pieces) / every) + 1)}
    return [piece for k, piece in enumerate(pieces) if k in picked]


def pieces_of(tracks: Sequence[CleanTrack], terrain: Terrain) -> Iterator[Piece]:
    """Usable parts of walks in a fixed order: by ride and time."""
    for walk in walks_of(tracks, terrain):
        begin = int(np.ceil(walk.place[0])) + LEAVE_M
        end = min(int(walk.place[-1]), len(walk.lane.grade) - 1) - COMING_M
        if end - begin < SHORTEST_M:
            continue
        marks = np.linspace(begin, end, max(round((end - begin) / SECTION_M), 1) + 1).astype(int)
        for first in range(0, len(marks) - 1, SECTIONS):
            yield _piece(walk, marks[first : first + SECTIONS + 1])


def _piece(walk: Walk, marks: Ints) -> Piece:
    """Sections between ``marks`` of a walk; the lane runs on a little, for braking in time."""
    begin, end = int(marks[0]), int(marks[-1])
    times = np.interp(marks, walk.place, walk.time_s)
    around = np.interp(begin + np.array([-ENTRY_M, ENTRY_M]), walk.place, walk.time_s)
    return Piece(
        ride=walk.ride,
        lane=walk.lane.cut(begin, end + COMING_M),
        entry_mps=float(np.clip(2 * ENTRY_M / max(around[1] - around[0], 0.5), 0.5, 16.0)),
        marks=marks - begin,
        times=times,
        stood=_stood(walk.place, walk.time_s, times),
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
