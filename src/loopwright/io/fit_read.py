"""FIT activity files, the record type most bike computers write.

Gets a path; gives one RecordedTrack of all records with a position. Promises: checksums are
verified; a damaged or cut file is refused in one line; a stop of the timer begins a new piece.
Positions are semicircles (2^31 to 180 degrees) and times count from 1989-12-31 00:00 UTC, as the
FIT protocol says (values as fitdecode's profile has them).
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import fitdecode
import numpy as np
from fitdecode.processors import FIT_UTC_REFERENCE

from loopwright.errors import NoAnswerError, WorldError
from loopwright.io.files import read_bytes
from loopwright.io.fit_sum import Sums, check_sums
from loopwright.io.plain import file_name, plain
from loopwright.model.arrays import Floats
from loopwright.model.track import RecordedTrack

FILE_LIMIT = 32_000_000
MESSAGE_LIMIT = 300_000
"""Definitions and data: over three days at one record a second."""
SEMICIRCLE_DEG = 180.0 / 2**31
_AGAIN = "copy it from the device again"
_EXTRAS = {"power_w": "power", "heart_rate_bpm": "heart_rate", "cadence_rpm": "cadence"}
_WANTED = frozenset({
    "position_lat", "position_long", "enhanced_altitude", "altitude", "timestamp",
    *_EXTRAS.values(),
})  # fmt: skip
_PARSER_FAULTS = (
    fitdecode.FitError, struct.error, AssertionError, ArithmeticError, AttributeError,
    LookupError, TypeError, ValueError,
)  # fmt: skip
"""What the library raises on bytes that make no sense."""


def read_fit(path: Path) -> tuple[RecordedTrack, ...]:
    """Return the ride in a FIT file; raises WorldError saying what is wrong."""
    data = read_bytes(path, limit=FILE_LIMIT)
    _check(path, data)
    gathered = _Gathered()
    try:
        for count, frame in enumerate(_frames(data), start=1):
            if count > MESSAGE_LIMIT:
                raise WorldError(str(path), "holds too many messages for one ride", "split it")
            if isinstance(frame, fitdecode.FitDataMessage):
                gathered.take(frame)
    except _PARSER_FAULTS as error:
        raise WorldError(str(path), _words(error), _AGAIN) from error
    if not gathered.rows:
        raise NoAnswerError(
            str(path), "no usable track (no record has a position)", "choose another ride"
        )
    return (_track(path, gathered),)


def _check(path: Path, data: bytes) -> None:
    sums = check_sums(data)
    if sums is Sums.CUT:
        raise WorldError(str(path), "breaks off before its end", _AGAIN)
    if sums is Sums.WRONG:
        raise WorldError(str(path), "is damaged (its checksum does not match)", _AGAIN)


def _frames(data: bytes) -> Iterator[object]:
    reader = fitdecode.FitReader(
        data,
        processor=None,
        check_crc=fitdecode.CrcCheck.DISABLED,  # checked before, in one pass
        error_handling=fitdecode.ErrorHandling.IGNORE,
    )
    with reader as frames:
        yield from frames


def _words(error: Exception) -> str:
    if isinstance(error, fitdecode.FitEOFError) or "truncated" in str(error):
        return "breaks off before its end"
    return "is a FIT file with damaged content"


@dataclass(slots=True)
class _Gathered:
    """Records with a position, and the piece each belongs to."""

    rows: list[dict[str, float]] = field(default_factory=list)
    pieces: list[int] = field(default_factory=list)
    _piece: int = 0
    _stopped: bool = False

    def take(self, frame: fitdecode.FitDataMessage) -> None:
        if frame.name == "event":
            self._stopped = self._stopped or _is_stop(frame)
        elif frame.name == "record":
            row = _numbers(frame)
            if "position_lat" in row and "position_long" in row:
                self._add(row)

    def _add(self, row: dict[str, float]) -> None:
        if self._stopped and self.rows:
            self._piece += 1
        self._stopped = False
        self.rows.append(row)
        self.pieces.append(self._piece)

    def column(self, *names: str) -> Floats:
        """Values ``(n,)`` under the first of ``names`` that a record has, else NaN."""
        return np.array([
            next((row[name] for name in names if name in row), np.nan) for row in self.rows
        ])  # fmt: skip


def _is_stop(frame: fitdecode.FitDataMessage) -> bool:
    kind = str(frame.get_value("event_type", fallback=""))
    return frame.get_value("event", fallback=None) == "timer" and kind.startswith("stop")


def _numbers(frame: fitdecode.FitDataMessage) -> dict[str, float]:
    """Pick the wanted numbers of a record; the first of a name wins, so a device's own do."""
    row: dict[str, float] = {}
    for cell in frame.fields:
        value = cell.value
        if cell.name in _WANTED and isinstance(value, int | float) and np.isfinite(value):
            row.setdefault(cell.name, float(value))
    return row


def _track(path: Path, gathered: _Gathered) -> RecordedTrack:
    lat = gathered.column("position_lat") * SEMICIRCLE_DEG
    off = np.flatnonzero(np.abs(lat) > 90.0)
    if len(off):
        raise WorldError(
            str(path), f"lat={lat[off[0]]:.4f} is off the globe at point {off[0] + 1}", _AGAIN
        )
    extras = {key: gathered.column(name) for key, name in _EXTRAS.items()}
    return RecordedTrack(
        name=plain(path.stem),
        source=file_name(path),
        lat=lat,
        lon=gathered.column("position_long") * SEMICIRCLE_DEG,
        ele_m=gathered.column("enhanced_altitude", "altitude"),
        time_s=gathered.column("timestamp") + FIT_UTC_REFERENCE,
        piece=np.array(gathered.pieces, dtype=np.int32),
        extras={key: values for key, values in extras.items() if np.isfinite(values).any()},
    )
