"""Find recordings of one and the same ride.

Gets clean tracks; gives those that repeat another: the same file exported again, the same with
its clock shifted by whole hours, or a second device on the same ride.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from loopwright.geo.polyline import along
from loopwright.model.arrays import Floats
from loopwright.model.track import CleanTrack, FaultKind

HOUR_S = 3600.0
COPY_M = 1.5
"""Copies agree to rounding (five decimals of a degree are 1.1 m); other rides of one trail differ
by the receivers' errors and, at equal times, by far more."""
DEVICE_M = 12.0
"""Two devices on one bicycle differ by both their errors; two laps at equal times do not agree."""
PROBES = 80
MOST_HOURS = 26


@dataclass(frozen=True, slots=True, kw_only=True)
class Copy:
    """That a track repeats track ``of``."""

    of: int
    kind: FaultKind
    words: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Line:
    time: Floats
    xy: Floats
    middle: Floats
    length: float
    heights: bool


def copies(tracks: Sequence[CleanTrack]) -> dict[int, Copy]:
    """Find copies by their place in ``tracks``; the fuller recording is kept, ties by ride id."""
    lines = {k: _line(track) for k, track in enumerate(tracks) if track.used and track.pieces}
    rank = sorted(
        lines, key=lambda k: (-len(lines[k].xy), not lines[k].heights, str(tracks[k].ride), k)
    )
    place = {k: at for at, k in enumerate(rank)}
    found: dict[int, Copy] = {}
    near = sorted(_candidates(lines), key=lambda ab: sorted((place[ab[0]], place[ab[1]])))
    for a, b in near:
        keep, gone = (a, b) if place[a] < place[b] else (b, a)
        if gone in found or keep in found:
            continue
        copy = _compare(lines[keep], lines[gone], keep)
        if copy is not None:
            found[gone] = copy
    return found


def _line(track: CleanTrack) -> _Line:
    xy = np.concatenate([piece.xy for piece in track.pieces])
    time = np.concatenate([piece.time_s for piece in track.pieces])
    heights = any(np.isfinite(piece.ele_m).any() for piece in track.pieces)
    middle = (xy.min(axis=0) + xy.max(axis=0)) / 2
    return _Line(time=time, xy=xy, middle=middle, length=float(along(xy)[-1]), heights=heights)


def _candidates(lines: dict[int, _Line]) -> Iterator[tuple[int, int]]:
    """Pairs worth comparing: about the same extent, or at the same time."""
    keys = np.array(sorted(lines))
    if len(keys) < 2:
        return
    middle = np.array([lines[k].middle for k in keys])
    size = np.array([lines[k].length for k in keys])
    span = np.array([[lines[k].time[0], lines[k].time[-1]] for k in keys])
    for row in range(len(keys) - 1):
        rest = slice(row + 1, None)
        alike = np.hypot(*(middle[rest] - middle[row]).T) < 60.0
        ratio = size[rest] / max(float(size[row]), 1.0)
        alike &= (ratio > 0.85) & (ratio < 1.18)
        together = (span[rest, 0] < span[row, 1]) & (span[rest, 1] > span[row, 0])
        for other in np.flatnonzero(alike | together):
            yield int(keys[row]), int(keys[row + 1 + other])


def _compare(keep: _Line, gone: _Line, number: int) -> Copy | None:
    if not (np.isfinite(keep.time[0]) and np.isfinite(gone.time[0])):
        gap = _gap_by_length(keep, gone)
        words = "the same line as another ride, without times to tell them apart; counted once"
        return Copy(of=number, kind=FaultKind.DUPLICATE, words=words) if gap < COPY_M else None
    shift_s = float(gone.time[0] - keep.time[0])
    for hours in sorted({0, round(shift_s / HOUR_S)}):
        if abs(hours) > MOST_HOURS:
            continue
        gap = _gap_by_time(keep, gone, hours * HOUR_S)
        if gap < COPY_M:
            return Copy(of=number, kind=FaultKind.DUPLICATE, words=_copy_words(hours))
        if gap < DEVICE_M and hours == 0:
            words = "a second device (or a rider alongside) on the same ride; counted once"
            return Copy(of=number, kind=FaultKind.TWO_DEVICES, words=words)
    return None


def _copy_words(hours: int) -> str:
    if hours == 0:
        return "the same ride as another file; counted once"
    plural = "" if abs(hours) == 1 else "s"
    return f"the same ride as another file with its clock {hours:+d} hour{plural}; counted once"


def _gap_by_time(keep: _Line, gone: _Line, shift_s: float) -> float:
    """Median distance at equal times, clocks ``shift_s`` apart; inf when they hardly overlap."""
    low = max(keep.time[0], gone.time[0] - shift_s)
    high = min(keep.time[-1], gone.time[-1] - shift_s)
    shorter = min(np.ptp(keep.time), np.ptp(gone.time))
    if high - low < 0.6 * shorter:
        return float("inf")
    probe = np.linspace(low, high, PROBES)
    gaps = [
        np.interp(probe, keep.time, keep.xy[:, k])
        - np.interp(probe + shift_s, gone.time, gone.xy[:, k])
        for k in (0, 1)
    ]
    return float(np.percentile(np.hypot(*gaps), 70))


def _gap_by_length(keep: _Line, gone: _Line) -> float:
    share = np.linspace(0.0, 1.0, PROBES)
    one, two = along(keep.xy), along(gone.xy)
    gaps = [
        np.interp(share * one[-1], one, keep.xy[:, k])
        - np.interp(share * two[-1], two, gone.xy[:, k])
        for k in (0, 1)
    ]
    return float(np.percentile(np.hypot(*gaps), 70))
