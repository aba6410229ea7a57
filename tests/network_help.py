"""Help for the tests of cleaning and network building: rides of invented tracks, topology."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence

import numpy as np

from loopwright.clean import clean_rides
from loopwright.geo.frame import to_degrees
from loopwright.geo.polyline import along, length_m
from loopwright.invented.park import OPEN_OCEAN
from loopwright.model.arrays import Floats
from loopwright.model.ids import RideId
from loopwright.model.network import Correction, CorrectionKind, Network
from loopwright.model.track import CleanTrack, FaultKind, RecordedTrack, Ride
from loopwright.network.attract import Aligned
from loopwright.network.samples import Samples, gather

START_S = 1_901_264_400.0


def as_rides(tracks: Iterable[RecordedTrack]) -> tuple[Ride, ...]:
    """Wrap recordings as rides whose ids follow from their content."""
    return tuple(
        Ride(
            id=RideId(hashlib.sha256(t.lat.tobytes() + t.time_s.tobytes()).hexdigest()[:16]),
            track=t,
        )
        for t in tracks
    )


def cleaned(tracks: Iterable[RecordedTrack]) -> tuple[CleanTrack, ...]:
    """Clean invented recordings."""
    return clean_rides(as_rides(tracks), OPEN_OCEAN)


def recorded(
    xy: Floats, *, ele: Floats | float = 100.0, time: Floats | None = None, start: float = START_S
) -> RecordedTrack:
    """Record local metres ``(n, 2)`` a second apart, or at ``time`` seconds from ``start``."""
    lat, lon = to_degrees(OPEN_OCEAN, np.asarray(xy, dtype=np.float64))
    rows = len(lat)
    seconds = start + (np.arange(rows, dtype=np.float64) if time is None else time)
    return RecordedTrack(
        name="invented",
        source="invented.gpx",
        lat=lat,
        lon=lon,
        ele_m=np.broadcast_to(np.asarray(ele, dtype=np.float64), (rows,)).copy(),
        time_s=seconds,
        piece=np.zeros(rows, dtype=np.int32),
    )


def ridden(*rides: Floats, ele: Floats | float = 100.0) -> tuple[Samples, Aligned, Floats]:
    """Samples of rides, each on a day of its own, aligned as they are, and their heights."""
    days = [recorded(xy, ele=ele, start=1.9e9 + 91_234.0 * k) for k, xy in enumerate(rides)]
    samples = gather(cleaned(days))
    return samples, Aligned(xy=samples.xy, head=samples.head), samples.ele


def winding(length: float = 800.0, step: float = 4.0) -> Floats:
    """A gently winding line eastward, ``step`` metres between points."""
    x = np.arange(0.0, length, step)
    return np.column_stack((x, 15.0 * np.sin(x / 70.0)))


def faults_of(track: CleanTrack) -> set[FaultKind]:
    """Kinds of findings in a track's report."""
    return {fault.kind for fault in track.faults}


def words_of(track: CleanTrack, kind: FaultKind) -> str:
    """Words of the first finding of a kind."""
    return next(fault.words for fault in track.faults if fault.kind is kind)


def degrees(network: Network) -> list[int]:
    """Degrees of all junctions, sorted."""
    return sorted(junction.degree for junction in network.junctions)


def total_m(network: Network) -> float:
    """Length of all stretches in metres."""
    return sum(length_m(stretch.xy) for stretch in network.stretches)


def correction(
    kind: CorrectionKind, xy: Sequence[tuple[float, float]] | Floats, value: str = ""
) -> Correction:
    """Draw a correction in local metres."""
    lat, lon = to_degrees(OPEN_OCEAN, np.asarray(xy, dtype=np.float64))
    return Correction(
        kind=kind, line=np.column_stack((lon, lat, np.full(len(lat), np.nan))), value=value
    )


def middle_of(network: Network, number: int = 0) -> Floats:
    """Middle half of a stretch, as a line to draw along."""
    xy = network.stretches[number].xy
    run = along(xy)
    keep = (run > run[-1] * 0.15) & (run < run[-1] * 0.85)
    return np.asarray(xy[keep])


def largest_gap_m(one: Network, two: Network) -> float:
    """Furthest any vertex of one network lies from the other's vertices (2.5 m apart)."""
    a = np.vstack([s.xy for s in one.stretches])
    b = np.vstack([s.xy for s in two.stretches])
    gap = np.hypot(a[:, None, 0] - b[None, :, 0], a[:, None, 1] - b[None, :, 1])
    return float(max(gap.min(axis=0).max(), gap.min(axis=1).max()))
