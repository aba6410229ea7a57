"""Rides: words as JSON, numbers as one array a ride.

The array is ``(columns, n)`` float64, one row a column of the recording, so that like stands by
like; its bytes are those numpy writes as ``.npy`` version 1.0. It is named by its own SHA-256.
"""

from __future__ import annotations

import hashlib
import io
import math
import tokenize
from collections.abc import Callable
from typing import Any

import numpy as np

from loopwright.io.codec import fields
from loopwright.io.codec.fields import Json
from loopwright.model.arrays import Floats
from loopwright.model.ids import RideId
from loopwright.model.track import RecordedTrack, Ride, RideRole

_FIXED = ("lat", "lon", "ele_m", "time_s", "piece")


def put_ride(ride: Ride) -> tuple[Json, bytes]:
    """Write a ride as words and array bytes."""
    columns = [*_FIXED, *sorted(ride.track.extras)]
    data = _put_array(_stack(ride.track))
    words: Json = {
        "id": ride.id, "role": ride.role.value, "hidden": ride.hidden, "name": ride.track.name,
        "source": ride.track.source, "columns": columns, "array": hashlib.sha256(data).hexdigest(),
    }  # fmt: skip
    return words, data


def _stack(track: RecordedTrack) -> Floats:
    fixed = [np.asarray(getattr(track, key), dtype=np.float64) for key in _FIXED]
    return np.stack([*fixed, *(track.extras[key] for key in sorted(track.extras))])


def get_ride(source: Json, fetch: Callable[[str], bytes]) -> Ride:
    """Read a ride; ``fetch`` gives the bytes of an array by name. Raises ValueError."""
    columns = fields.texts(source, "columns")
    if columns[: len(_FIXED)] != _FIXED or len(set(columns)) != len(columns):
        message = f"unknown columns {', '.join(columns)}"
        raise ValueError(message)
    table = _get_array(fetch(fields.text(source, "array")), rows=len(columns))
    named = dict(zip(columns, table, strict=True))
    return Ride(
        id=RideId(fields.text(source, "id")),
        role=RideRole(fields.text(source, "role")),
        hidden=fields.flag(source, "hidden"),
        track=_track(fields.text(source, "name"), fields.text(source, "source"), named),
    )


def _track(name: str, source: str, named: dict[str, Floats]) -> RecordedTrack:
    lat, lon, piece = named["lat"], named["lon"], named["piece"]
    if not (np.abs(lat) <= 90).all() or not (np.abs(lon) <= 180).all():
        message = f"ride {name!r} has positions off the globe"
        raise ValueError(message)
    if not ((piece >= 0) & (piece < 2**31) & (piece == np.floor(piece))).all():
        message = f"ride {name!r} has broken segment numbers"
        raise ValueError(message)
    return RecordedTrack(
        name=name, source=source, lat=lat, lon=lon, ele_m=named["ele_m"], time_s=named["time_s"],
        piece=piece.astype(np.int32),
        extras={key: values for key, values in named.items() if key not in _FIXED},
    )  # fmt: skip


def _put_array(values: Floats) -> bytes:
    sink = io.BytesIO()
    np.lib.format.write_array(
        sink, np.ascontiguousarray(values, dtype="<f8"), version=(1, 0), allow_pickle=False
    )
    return sink.getvalue()


def _get_array(data: bytes, *, rows: int) -> Floats:
    """Read what ``_put_array`` wrote and nothing else; the header must fit the size exactly."""
    shape, fortran, dtype, start = _header(data)
    fits = not fortran and dtype == np.dtype("<f8") and len(shape) == 2 and shape[0] == rows
    if not fits or math.prod(shape) * 8 != len(data) - start:
        message = f"an array of shape {shape} does not fit its {rows} columns"
        raise ValueError(message)
    values = np.frombuffer(data, dtype="<f8", offset=start).reshape(shape)
    return values.astype(np.float64, copy=False)


def _header(data: bytes) -> tuple[tuple[int, ...], bool, np.dtype[Any], int]:
    """Return shape, order, type and where the numbers start; numpy reads the words of the head."""
    source = io.BytesIO(data)
    try:
        if np.lib.format.read_magic(source) != (1, 0):
            message = "an array is of an unknown version"
            raise ValueError(message)
        shape, fortran, dtype = np.lib.format.read_array_header_1_0(source)
    except (SyntaxError, tokenize.TokenError, UnicodeError, TypeError) as error:
        message = "an array has an unreadable head"
        raise ValueError(message) from error
    return shape, fortran, dtype, source.tell()
