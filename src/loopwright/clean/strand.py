"""A recording while it is being cleaned.

Gets a recorded track; gives rows still believed in, in local metres, with what was found so far.
Promises: values are replaced, never written to.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from loopwright.geo.frame import to_local
from loopwright.model.arrays import Floats, Ints
from loopwright.model.frame import Origin
from loopwright.model.track import Fault, FaultKind, RecordedTrack

Bools: TypeAlias = NDArray[np.bool_]
Rows: TypeAlias = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Strand:
    """Believed rows of one recording.

    ``xy`` ``(n, 2)`` metres, ``ele`` and ``time`` ``(n,)`` (NaN unknown), ``index`` the recorded
    point numbers, ``cut`` ``(n,)`` True where a new piece starts, ``faults`` found so far.
    """

    xy: Floats
    ele: Floats
    time: Floats
    index: Rows
    cut: Bools
    faults: tuple[Fault, ...] = ()

    def __len__(self) -> int:
        """Count the rows."""
        return len(self.index)

    @property
    def timed(self) -> bool:
        """Tell whether every row knows its time."""
        return bool(len(self) and np.isfinite(self.time).all())

    def keep(self, rows: Bools | Rows) -> Strand:
        """Keep some rows, in the order given; a cut before a dropped row moves on."""
        pieces = np.cumsum(self.cut)[rows]
        cut = np.concatenate(([True], np.diff(pieces) != 0)) if len(pieces) else np.zeros(0, bool)
        return replace(
            self, xy=self.xy[rows], ele=self.ele[rows], time=self.time[rows],
            index=self.index[rows], cut=cut,
        )  # fmt: skip

    def note(self, kind: FaultKind, words: str, count: int = 1) -> Strand:
        """Add a finding."""
        return replace(self, faults=(*self.faults, Fault(kind=kind, words=words, count=count)))

    def part_before(self, rows: Bools) -> Strand:
        """Start a new piece at the rows marked."""
        return replace(self, cut=self.cut | rows)


def strand_of(track: RecordedTrack, origin: Origin) -> Strand:
    """Put a recording into the local frame; rows without a position are dropped."""
    good = np.isfinite(track.lat) & np.isfinite(track.lon) & (np.abs(track.lat) < 90.0)
    good &= ~((track.lat == 0.0) & (track.lon == 0.0))
    rows = np.flatnonzero(good)
    xy = to_local(origin, track.lat[rows], track.lon[rows])
    seen = np.isfinite(xy).all(axis=1)
    rows, xy = rows[seen], xy[seen]
    piece = track.piece[rows]
    cut = np.concatenate(([True], np.diff(piece) != 0)) if len(rows) else np.zeros(0, bool)
    strand = Strand(
        xy=xy, ele=np.array(track.ele_m[rows]), time=np.array(track.time_s[rows]),
        index=rows.astype(np.int64), cut=cut,
    )  # fmt: skip
    lost = len(track) - len(rows)
    if lost:
        words = f"{points(lost)} without a position dropped"
        strand = strand.note(FaultKind.SPIKE, words, lost)
    return strand


def shared(values: Floats, source: Floats, index: Rows) -> Floats:
    """Give ``values`` ``(n,)`` as a window on ``source`` where it holds them in a row, unchanged.

    A lifetime of rides is held twice otherwise. ``index`` tells where in ``source`` they stood.
    """
    window = source[int(index[0]) : int(index[0]) + len(values)]
    return window if values.tobytes() == window.tobytes() else values


def numbered(index: Rows) -> Ints:
    """Give point numbers ``(n,)``, those that follow each other as a window on one table."""
    first, last = int(index[0]), int(index[-1])
    window = _counting(1 << last.bit_length())[first : last + 1]
    return window if np.array_equal(window, index) else index.astype(np.int32)


@lru_cache
def _counting(size: int) -> Ints:
    numbers = np.arange(size, dtype=np.int32)
    numbers.flags.writeable = False
    return numbers


def steps_m(xy: Floats) -> Floats:
    """Distance from each row to the next ``(n - 1,)`` metres."""
    return np.hypot(*np.diff(xy, axis=0).T) if len(xy) > 1 else np.zeros(0)


def points(count: int) -> str:
    """Say how many points, in words."""
    return f"{count:,} point" + ("" if count == 1 else "s")


def runs_of(flags: Bools) -> list[tuple[int, int]]:
    """Give runs of True as (first, one past the last)."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], flags.astype(np.int8), [0]))))
    return [(int(a), int(b)) for a, b in edges.reshape(-1, 2)]
