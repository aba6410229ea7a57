"""Rides as evenly spaced samples.

Gets clean tracks; gives one flat table of samples about ``STEP_M`` apart along every unbroken
piece, lightly smoothed. Promises: order of pieces follows order of tracks, a sample never bridges
a gap between pieces.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from loopwright.geo.planar import unit
from loopwright.geo.polyline import along
from loopwright.geo.quadratics import quadratics
from loopwright.model.arrays import Floats
from loopwright.model.track import CleanTrack, TrackPiece
from loopwright.network.rows import Rows

STEP_M = 5.0
"""Spacing of samples: below the 8 m that parts neighbouring lines, above the recorders' noise."""
SMOOTH_M = 12.0
"""Span of the lightest smoothing; a quadratic over it keeps a 6 m corner to 0.3 m."""
SMOOTH_MOST_M = 44.0
"""Longest span used when the points themselves jitter (white noise)."""
CALM_M = 0.6
"""Jitter left after smoothing that no longer turns a 5 m step out of its heading."""
SPARSE_M = 9.0
"""Points further apart than this are joined by curves, not chords."""
TURNED, FURTHEST = 0.14, 0.2
"""A curve through points so many metres apart misses the trail, in two of three gaps, by less than
this share of the gap for each radian it turns there, and hardly by more than the other share.
Measured on invented rides without error, a point every 4 to 10 s, against the same rides every
second."""
SHORTEST_M = 12.0
"""A piece shorter than this tells no direction."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Samples:
    """Samples of all rides, one row each.

    ``xy`` ``(n, 2)`` and ``head`` ``(n, 2)`` (unit vectors) in local metres; ``ele`` ``(n,)``
    metres or NaN; ``piece`` and ``ride`` ``(n,)`` numbers; ``dist`` ``(n,)`` metres along the
    piece; ``point`` ``(n,)`` recorded point number, fractional; ``time`` ``(n,)`` seconds or NaN;
    ``loose`` ``(n,)`` metres by which the curve laid between recorded points may miss the trail;
    ``place`` ``(n,)`` the same as ``point``, counted among the clean points of the piece;
    ``first`` ``(p + 1,)`` the row at which each piece starts; ``spacing`` ``(p,)`` metres between
    the recorded points of the piece.
    """

    xy: Floats
    head: Floats
    ele: Floats
    piece: Rows
    ride: Rows
    dist: Floats
    point: Floats
    time: Floats
    loose: Floats
    place: Floats
    first: Rows
    spacing: Floats

    def __len__(self) -> int:
        """Count the samples."""
        return len(self.xy)


def gather(
    tracks: Sequence[CleanTrack], *, step_m: float = STEP_M, number_from: int = 0
) -> Samples:
    """Sample every usable piece of ``tracks``; ``ride`` numbers the tracks as given."""
    rows = [
        (number, _sampled(piece, step_m))
        for number, track in enumerate(tracks, start=number_from)
        for piece in track.pieces
        if len(piece.xy) > 1
    ]
    kept = [(number, row) for number, row in rows if row is not None]
    sizes = [len(row.dist) for _, row in kept]
    first = np.concatenate(([0], np.cumsum(sizes))).astype(np.int32)
    return Samples(
        xy=_stack([row.xy for _, row in kept], 2),
        head=_stack([_headings(row.xy) for _, row in kept], 2),
        ele=_stack([row.ele for _, row in kept], 0),
        piece=np.repeat(np.arange(len(kept), dtype=np.int32), sizes),
        ride=np.repeat(np.array([number for number, _ in kept], dtype=np.int32), sizes),
        dist=_stack([row.dist for _, row in kept], 0),
        point=_stack([row.point for _, row in kept], 0),
        time=_stack([row.time for _, row in kept], 0),
        loose=_stack([row.loose for _, row in kept], 0),
        place=_stack([row.place for _, row in kept], 0),
        first=first,
        spacing=np.array([row.spacing for _, row in kept]),
    )


def joined(parts: Sequence[Samples]) -> Samples:
    """Put tables of samples end to end."""
    if not parts:
        return gather(())
    pieces = np.cumsum([0, *(len(part.first) - 1 for part in parts[:-1])])
    rows = np.cumsum([0, *(len(part) for part in parts[:-1])])
    first = [part.first[:-1] + row for part, row in zip(parts, rows, strict=True)]
    return Samples(
        xy=np.concatenate([part.xy for part in parts]),
        head=np.concatenate([part.head for part in parts]),
        ele=np.concatenate([part.ele for part in parts]),
        piece=np.concatenate([p.piece + k for p, k in zip(parts, pieces, strict=True)]),
        ride=np.concatenate([part.ride for part in parts]),
        dist=np.concatenate([part.dist for part in parts]),
        point=np.concatenate([part.point for part in parts]),
        time=np.concatenate([part.time for part in parts]),
        loose=np.concatenate([part.loose for part in parts]),
        place=np.concatenate([part.place for part in parts]),
        first=np.append(np.concatenate(first), sum(map(len, parts))).astype(np.int32),
        spacing=np.concatenate([part.spacing for part in parts]),
    )


@dataclass(frozen=True, slots=True)
class _Row:
    xy: Floats
    ele: Floats
    dist: Floats
    point: Floats
    time: Floats
    loose: Floats
    place: Floats
    spacing: float


def _stack(parts: list[Floats], columns: int) -> Floats:
    empty = np.zeros((0, columns)) if columns else np.zeros(0)
    return np.concatenate(parts) if parts else empty


def _sampled(piece: TrackPiece, step_m: float) -> _Row | None:
    run = along(piece.xy)
    if run[-1] < SHORTEST_M:
        return None
    spacing = float(np.median(np.diff(run)))
    xy, knots = curve(piece.xy, spacing)
    fine = along(xy)
    dist = np.linspace(0.0, fine[-1], max(3, round(fine[-1] / step_m) + 1))
    place = np.interp(dist, fine, knots)
    rows = np.arange(len(piece.xy))
    known = np.isfinite(piece.ele_m)
    ele = np.interp(place, rows[known], piece.ele_m[known]) if known.any() else place * np.nan
    return _Row(
        xy=np.column_stack([np.interp(dist, fine, xy[:, k]) for k in (0, 1)]),
        ele=ele,
        dist=dist,
        point=np.interp(place, rows, piece.index),
        time=np.interp(place, rows, piece.time_s),
        loose=_loose_m(piece.xy, place) if spacing > SPARSE_M else np.zeros(len(place)),
        place=place,
        spacing=spacing,
    )


def _loose_m(xy: Floats, place: Floats) -> Floats:
    """How far the curve may miss the trail at ``place`` ``(k,)`` (fractional point numbers)."""
    steps = np.diff(xy, axis=0)
    size = np.hypot(steps[:, 0], steps[:, 1])
    way = np.unwrap(np.arctan2(steps[:, 1], steps[:, 0]))
    turn = np.concatenate(([0.0], np.abs(np.diff(way)), [0.0]))
    off = np.minimum(TURNED * size * np.maximum(turn[:-1], turn[1:]), FURTHEST * size)
    gap = np.clip(place.astype(np.int64), 0, len(off) - 1)
    return np.asarray(off[gap] * np.sin(np.pi * np.clip(place - gap, 0.0, 1.0)))


def curve(xy: Floats, spacing: float) -> tuple[Floats, Floats]:
    """Smooth or spline recorded points ``(n, 2)``; also gives each vertex's point number."""
    rows = np.arange(len(xy), dtype=np.float64)
    if spacing > SPARSE_M and len(xy) > 2:
        return _splined(xy)
    return smoothed(xy, spacing), rows


def smoothed(xy: Floats, spacing: float) -> Floats:
    """Fit quadratics over a span that grows with the jitter of the points."""
    jitter = white_m(xy)
    span = max(SMOOTH_M, 2.25 * (jitter / CALM_M) ** 2 * spacing)
    window = int(min(span, SMOOTH_MOST_M) / max(spacing, 0.1)) // 2 * 2 + 1
    window = min(window, (len(xy) - 1) // 2 * 2 + 1)
    if window < 5:
        return xy
    return quadratics(xy, window)


def white_m(xy: Floats) -> float:
    """Estimate the uncorrelated error per axis from third differences, robustly.

    The variance of a third difference of white noise is 20 times its own.
    """
    if len(xy) < 8:
        return 0.0
    third = np.diff(xy, n=3, axis=0)
    return float(np.median(np.abs(third)) / 0.6745 / np.sqrt(20.0))


def _splined(xy: Floats) -> tuple[Floats, Floats]:
    from scipy.interpolate import Akima1DInterpolator

    rows = np.flatnonzero(np.concatenate(([True], np.hypot(*np.diff(xy, axis=0).T) > 0.01)))
    if len(rows) < 3:
        return xy, np.arange(len(xy), dtype=np.float64)
    run = along(xy[rows])
    fine = np.unique(np.concatenate((run, np.arange(0.0, run[-1], 2.5))))
    spline = Akima1DInterpolator(run, xy[rows], method="makima")
    return np.asarray(spline(fine)), np.interp(fine, run, rows)


def _headings(xy: Floats) -> Floats:
    return unit(np.gradient(xy, axis=0))
