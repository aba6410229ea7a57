"""Recorded tracks from files.

Gets a path; gives the recordings in it. Promises: the content decides how it is read, not the
name; what cannot be read is refused in one clear line; the same recording has the same id always.
"""

from __future__ import annotations

import hashlib
from pathlib import Path

import numpy as np

from loopwright.errors import NoAnswerError, WorldError
from loopwright.io.files import worldly
from loopwright.io.fit_read import read_fit
from loopwright.io.fit_sum import MARK, MARK_AT
from loopwright.io.gpx_read import read_gpx
from loopwright.model.ids import RideId
from loopwright.model.track import RecordedTrack

TRACK_SUFFIXES = (".gpx", ".fit")
"""Endings by which a folder is searched; matched without regard to case."""
_HEAD = 4096
_ID_DIGITS = 16
_PICK = "choose a recorded ride (.gpx or .fit)"
_XML_STARTS = (b"<", b"\xef\xbb\xbf", b"\xff\xfe", b"\xfe\xff", b"\0<", b"<\0")


def read_tracks(path: Path) -> tuple[RecordedTrack, ...]:
    """Return the recordings in a GPX or FIT file, each with at least two points.

    Raises WorldError (NoAnswerError when the file is sound but holds no usable track).
    """
    with worldly(path):
        if path.is_dir():
            raise IsADirectoryError(21, "is a directory")
        with path.open("rb") as source:
            head = source.read(_HEAD)
    tracks = _read(path, head)
    usable = tuple(track for track in tracks if len(track) > 1)
    if not usable:
        raise NoAnswerError(str(path), "no usable track (a single point)", "choose another ride")
    return usable


def _read(path: Path, head: bytes) -> tuple[RecordedTrack, ...]:
    if head.lstrip(b" \t\r\n").startswith(_XML_STARTS):
        return read_gpx(path)
    if head[MARK_AT : MARK_AT + len(MARK)] == MARK:
        return read_fit(path)
    raise _refuse(path, head)


def _refuse(path: Path, head: bytes) -> WorldError:
    if not head:
        return WorldError(str(path), "is empty", "export the ride again")
    if head.startswith(b"\x1f\x8b"):
        return WorldError(str(path), "is compressed (gzip)", "unpack it first")
    if head.startswith(b"PK"):
        return WorldError(str(path), "is a zip archive", "unpack it first")
    return WorldError(str(path), "is neither GPX nor FIT", _PICK)


def ride_id(track: RecordedTrack) -> RideId:
    """Return the id of a recording: it follows from positions, times and heights alone."""
    digest = hashlib.sha256()
    for column in (track.lat, track.lon, track.time_s, track.ele_m):
        values = np.array(column, dtype="<f8")
        values[np.isnan(values)] = np.nan  # one bit pattern for all that is missing
        values += 0.0  # and one for zero
        digest.update(values.tobytes())
    return RideId(digest.hexdigest()[:_ID_DIGITS])
