"""Rides as recorded (WGS 84) and as cleaned (local metres).

Promises: arrays are read-only and of one length within a track.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from loopwright.model.arrays import Floats, Ints, alike, floats, ints
from loopwright.model.ids import RideId


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RecordedTrack:
    """One recording, untouched.

    ``lat``, ``lon`` in degrees WGS 84, ``ele_m`` in metres (NaN where missing), ``time_s`` in
    seconds since 1970-01-01 UTC (NaN where missing), all ``(n,)``; ``piece`` numbers the segment
    each point came from, never falling. ``extras`` may hold ``power_w``, ``heart_rate_bpm``,
    ``cadence_rpm``, each ``(n,)`` with NaN where missing.
    """

    name: str
    source: str
    lat: Floats
    lon: Floats
    ele_m: Floats
    time_s: Floats
    piece: Ints
    extras: Mapping[str, Floats] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Check shapes and lock the arrays."""
        rows = len(self.lat)
        for key in ("lat", "lon", "ele_m", "time_s"):
            object.__setattr__(self, key, floats(getattr(self, key), rows=rows))
        object.__setattr__(self, "piece", alike(ints(self.piece, rows=rows)))
        extras = {key: floats(value, rows=rows) for key, value in self.extras.items()}
        object.__setattr__(self, "extras", extras)

    def __len__(self) -> int:
        """Count the points."""
        return len(self.lat)


class RideRole(StrEnum):
    """What a recording is used for."""

    RIDE = "ride"
    """Builds the network."""
    RACE = "race"
    """A race lap to copy the demands of; builds no network here."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ride:
    """A recording in the area. ``id`` follows from the content, so the same file counts once."""

    id: RideId
    track: RecordedTrack
    role: RideRole = RideRole.RIDE
    hidden: bool = False


class FaultKind(StrEnum):
    """What can be wrong with a recording."""

    SPIKE = "spike"
    FREEZE = "freeze"
    PAUSE = "pause"
    GAP = "gap"
    SPARSE = "sparse"
    REPEATED = "repeated"
    TIME_ORDER = "time order"
    NO_TIME = "no time"
    NO_HEIGHT = "no height"
    HEIGHT_OFFSET = "height offset"
    DUPLICATE = "duplicate"
    TWO_DEVICES = "two devices"
    PRIVATE = "private"
    USELESS = "useless"
    ASIDE = "aside"


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One finding about a recording, with plain words for the ride's report."""

    kind: FaultKind
    words: str
    count: int = 1


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TrackPiece:
    """An unbroken stretch of one ride in the local frame.

    ``xy`` is ``(n, 2)`` metres east and north; ``ele_m`` ``(n,)`` metres or NaN; ``time_s``
    ``(n,)`` seconds since 1970 or NaN; ``index`` ``(n,)`` the point's place in the recorded track.
    """

    xy: Floats
    ele_m: Floats
    time_s: Floats
    index: Ints

    def __post_init__(self) -> None:
        """Check shapes and lock the arrays."""
        object.__setattr__(self, "xy", floats(self.xy, columns=2))
        rows = len(self.xy)
        object.__setattr__(self, "ele_m", floats(self.ele_m, rows=rows))
        object.__setattr__(self, "time_s", floats(self.time_s, rows=rows))
        object.__setattr__(self, "index", ints(self.index, rows=rows))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CleanTrack:
    """A ride ready for building: pieces in order, and what was found wrong.

    ``used`` is False when the ride adds nothing (a duplicate, useless); then ``pieces`` is empty.
    """

    ride: RideId
    pieces: tuple[TrackPiece, ...]
    faults: tuple[Fault, ...] = field(default=())
    used: bool = True
