"""What gpxpy reads from a file, in the shape of our recorded tracks: the reference for values."""

from __future__ import annotations

from datetime import UTC
from pathlib import Path

import gpxpy
import numpy as np
from gpxpy.gpx import GPXRoutePoint, GPXTrackPoint

from loopwright.model.arrays import Floats
from loopwright.model.track import RecordedTrack


def reference(path: Path) -> list[Floats]:
    """Return ``(n, 5)`` lat, lon, ele, time, piece for each track of two points or more."""
    gpx = gpxpy.parse(path.read_bytes())
    lines: list[list[tuple[int, GPXTrackPoint | GPXRoutePoint]]] = [
        [(piece, each) for piece, segment in enumerate(track.segments) for each in segment.points]
        for track in gpx.tracks
    ]
    if not any(lines):
        lines = [[(0, each) for each in route.points] for route in gpx.routes]
    return [np.array([row(*cell) for cell in line]) for line in lines if len(line) > 1]


def row(piece: int, each: GPXTrackPoint | GPXRoutePoint) -> list[float]:
    time = each.time
    if time is not None and time.tzinfo is None:
        time = time.replace(tzinfo=UTC)
    return [
        each.latitude,
        each.longitude,
        np.nan if each.elevation is None else each.elevation,
        np.nan if time is None else time.timestamp(),
        piece,
    ]


def table(track: RecordedTrack) -> Floats:
    return np.column_stack((track.lat, track.lon, track.ele_m, track.time_s, track.piece))


def assert_same(path: Path, tracks: tuple[RecordedTrack, ...]) -> None:
    expected = reference(path)
    assert len(tracks) == len(expected)
    for ours, theirs in zip(tracks, expected, strict=True):
        np.testing.assert_array_equal(table(ours), theirs)
