"""A ride as one run of fixes.

Gets a clean track. Gives flat arrays over all its pieces, in time order. Promises: times finite
and rising; places where the recording breaks are marked, never bridged.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from loopwright.errors import NoAnswerError
from loopwright.model.arrays import Floats, Ints
from loopwright.model.track import CleanTrack

THIN_M = 4.0
"""Matching looks at fixes at least this far apart: a pause then weighs no more than a passing."""

MOST_FILLED_S = 10.0
STEPS = 3.5
"""Longer silences than 10 s, or this many usual steps of a sparse recording, are left alone."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Trace:
    """Fixes of a ride: ``xy`` ``(n, 2)`` m, ``time_s`` ``(n,)``, ``piece`` and ``index`` ``(n,)``.

    ``index`` is the fix's place in the recorded track.
    """

    xy: Floats
    time_s: Floats
    piece: Ints
    index: Ints

    def __len__(self) -> int:
        """Count the fixes."""
        return len(self.time_s)


def trace_of(track: CleanTrack) -> Trace:
    """Join the pieces; raises NoAnswerError when the ride carries no times."""
    xy = [piece.xy for piece in track.pieces]
    if not xy:
        raise NoAnswerError(track.ride, "nothing usable was recorded", "choose another ride")
    time = np.concatenate([piece.time_s for piece in track.pieces])
    number = np.concatenate(
        [np.full(len(piece.xy), at, dtype=np.int32) for at, piece in enumerate(track.pieces)]
    )
    index = np.concatenate([piece.index for piece in track.pieces])
    keep = np.isfinite(time)
    keep[keep] = _rising(time[keep])
    if keep.sum() < 2:
        raise NoAnswerError(track.ride, "no times were recorded", "laps need a ride with times")
    return Trace(xy=np.vstack(xy)[keep], time_s=time[keep], piece=number[keep], index=index[keep])


def _rising(time: Floats) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    highest = np.maximum.accumulate(time)
    return np.concatenate(([True], time[1:] > highest[:-1]))


def thin(trace: Trace, step_m: float = THIN_M) -> Ints:
    """Places of fixes at least ``step_m`` apart, with the first and last of every piece."""
    keep = [0]
    xy, piece = trace.xy, trace.piece
    last = xy[0]
    for at in range(1, len(trace)):
        ends = piece[at] != piece[at - 1] or at + 1 == len(trace) or piece[at + 1] != piece[at]
        if ends or np.abs(xy[at] - last).sum() >= step_m:
            keep.append(at)
            last = xy[at]
    return np.array(keep, dtype=np.int32)


def dense(trace: Trace, every_s: float = 1.0) -> Trace:
    """Fill sparse recording with points of a curve through the fixes, about ``every_s`` apart.

    Straight chords between fixes four seconds apart shorten a winding trail by some per cent; a
    cubic spline does not. Long silences, and breaks, are left alone.
    """
    parts = np.split(np.arange(len(trace)), np.flatnonzero(_silent(trace)) + 1)
    grids = [_grid(trace.time_s[part], every_s) for part in parts]
    time = np.concatenate(grids)
    index = trace.index[np.clip(np.searchsorted(trace.time_s, time), 0, len(trace) - 1)]
    curves = zip(parts, grids, strict=True)
    xy = [_curve(trace.time_s[part], trace.xy[part], grid) for part, grid in curves]
    piece = [np.full(len(grid), at, dtype=np.int32) for at, grid in enumerate(grids)]
    return Trace(xy=np.vstack(xy), time_s=time, piece=np.concatenate(piece), index=index)


def _silent(trace: Trace) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    wait = np.diff(trace.time_s)
    most_s = max(MOST_FILLED_S, STEPS * float(np.median(wait)))
    return np.asarray((wait > most_s) | (np.diff(trace.piece) != 0))


def _grid(time: Floats, every_s: float) -> Floats:
    counts = np.maximum(np.round(np.diff(time) / every_s), 1).astype(np.int64)
    steps = [
        np.linspace(a, b, n + 1)[:-1] for a, b, n in zip(time[:-1], time[1:], counts, strict=True)
    ]
    return np.concatenate([*steps, time[-1:]])


def _curve(time: Floats, xy: Floats, grid: Floats) -> Floats:
    if len(time) < 4:
        return np.column_stack([np.interp(grid, time, xy[:, k]) for k in (0, 1)])
    from scipy.interpolate import CubicSpline  # brings all of scipy.optimize

    return np.asarray(CubicSpline(time, xy)(grid))


def without(trace: Trace, runs: Sequence[Ints]) -> Trace:
    """Drop the fixes from the first to the last of each run; the recording breaks there."""
    keep = np.ones(len(trace), dtype=bool)
    for run in runs:
        keep[run[0] : run[-1] + 1] = False
    part = np.cumsum(np.concatenate(([0], np.diff(keep.astype(np.int8)) != 0))) + trace.piece
    part += 2 * len(trace) * trace.piece
    return Trace(
        xy=trace.xy[keep],
        time_s=trace.time_s[keep],
        piece=part[keep].astype(np.int32),
        index=trace.index[keep],
    )
