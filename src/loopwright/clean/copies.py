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
    """A track told in a few figures; its points are put together only when asked for."""

    track: CleanTrack
    points: int
    first_s: float
    last_s: float
    middle: Floats
    length: float
    heights: bool

    @property
    def xy(self) -> Floats:
        """All its points ``(n, 2)``."""
        return np.concatenate([piece.xy for piece in self.track.pieces])

    @property
    def time(self) -> Floats:
        """Their times ``(n,)``."""
        return np.concatenate([piece.time_s for piece in self.track.pieces])


def copies(tracks: Sequence[CleanTrack]) -> dict[int, Copy]:
    """Find copies by their place in ``tracks``; the fuller recording is kept, ties by ride id."""
    lines = {k: _line(track) for k, track in enumerate(tracks) if track.used and track.pieces}
    rank = sorted(
        lines, key=lambda k: (-lines[k].points, not lines[k].heights, str(tracks[k].ride), k)
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
    return _Line(
        track=track,
        points=len(xy),
        first_s=float(track.pieces[0].time_s[0]),
        last_s=float(track.pieces[-1].time_s[-1]),
        middle=(xy.min(axis=0) + xy.max(axis=0)) / 2,
        length=float(along(xy)[-1]),
        heights=any(np.isfinite(piece.ele_m).any() for piece in track.pieces),
    )


def _candidates(lines: dict[int, _Line]) -> Iterator[tuple[int, int]]:
    """Pairs worth comparing: about the same extent within a day or so, or at the same time."""
    keys = np.array(sorted(lines))
    if len(keys) < 2:
        return
    middle = np.array([lines[k].middle for k in keys])
    size = np.array([lines[k].length for k in keys])
    span = np.array([[lines[k].first_s, lines[k].last_s] for k in keys])
    for row in range(len(keys) - 1):
        rest = slice(row + 1, None)
        alike = np.hypot(*(middle[rest] - middle[row]).T) < 60.0
        ratio = size[rest] / max(float(size[row]), 1.0)
        alike &= (ratio > 0.85) & (ratio < 1.18)
        alike &= ~(np.abs(span[rest, 0] - span[row, 0]) > (MOST_HOURS + 1) * HOUR_S)
        together = (span[rest, 0] < span[row, 1]) & (span[rest, 1] > span[row, 0])
        for other in np.flatnonzero(alike | together):
            yield int(keys[row]), int(keys[row + 1 + other])


def _compare(keep: _Line, gone: _Line, number: int) -> Copy | None:
    if not (np.isfinite(keep.first_s) and np.isfinite(gone.first_s)):
        gap = _gap_by_length(keep, gone)
        words = "the same line as another ride, without times to tell them apart; counted once"
        return Copy(of=number, kind=FaultKind.DUPLICATE, words=words) if gap < COPY_M else None
    shift_s = gone.first_s - keep.first_s
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
    low = max(keep.first_s, gone.first_s - shift_s)
    high = min(keep.last_s, gone.last_s - shift_s)
    shorter = min(keep.last_s - keep.first_s, gone.last_s - gone.first_s)
    if high - low < 0.6 * shorter:
        return float("inf")
    probe = np.linspace(low, high, PROBES)
    one, two = (keep.time, keep.xy), (gone.time, gone.xy)
    gaps = [
        np.interp(probe, one[0], one[1][:, k]) - np.interp(probe + shift_s, two[0], two[1][:, k])
        for k in (0, 1)
    ]
    return float(np.percentile(np.hypot(*gaps), 70))


def _gap_by_length(keep: _Line, gone: _Line) -> float:
    share = np.linspace(0.0, 1.0, PROBES)
    here, there = keep.xy, gone.xy
    one, two = along(here), along(there)
    gaps = [
        np.interp(share * one[-1], one, here[:, k]) - np.interp(share * two[-1], two, there[:, k])
        for k in (0, 1)
    ]
    return float(np.percentile(np.hypot(*gaps), 70))
