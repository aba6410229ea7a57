"""The laps of a ride as JSON (``laps --json``).

Gets a LapSheet; gives plain JSON values in the published shape (docs/formats.md). Promises: times
as measured at the gate to the millisecond, ``start`` also in words (ISO 8601, UTC).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

from loopwright.io.json_file import metres
from loopwright.model.laps import Lap, LapSheet, Split

Value = dict[str, object]
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


def laps_json(sheet: LapSheet, *, attributions: Sequence[str] = ()) -> Value:
    """Return the lap sheet in the published shape; ``best`` is the best lap time in seconds."""
    return {
        "schema": 1,
        "attributions": list(attributions),
        "loop": sheet.loop,
        "ride": str(sheet.ride),
        "laps": [_lap(lap) for lap in sheet.laps],
        "best": metres(sheet.best_s),
        "best_lap": _best_lap(sheet),
        "median_s": metres(sheet.median_s),
        "fade_per_lap_s": metres(sheet.fade_per_lap_s),
        "spread_s": metres(sheet.spread_s),
        "ground_m": {word: metres(sheet.ground_m[word]) for word in sorted(sheet.ground_m)},
    }


def _best_lap(sheet: LapSheet) -> int | None:
    complete = [lap for lap in sheet.laps if lap.complete]
    return min(complete, key=lambda lap: lap.elapsed_s).number if complete else None


def _lap(lap: Lap) -> Value:
    return {
        "number": lap.number,
        "start": moment(lap.start_s),
        "start_s": metres(lap.start_s),
        "way": lap.way.value,
        "elapsed_s": metres(lap.elapsed_s),
        "moving_s": metres(lap.moving_s),
        "length_m": metres(lap.length_m),
        "complete": lap.complete,
        "note": lap.note,
        "splits": [_split(split) for split in lap.splits],
    }


def _split(split: Split) -> Value:
    return {
        "number": split.number,
        "name": split.name,
        "from_m": metres(split.from_m),
        "to_m": metres(split.to_m),
        "elapsed_s": metres(split.elapsed_s),
        "moving_s": metres(split.moving_s),
        "std_error_s": metres(split.std_error_s),
        "target_s": metres(split.target_s),
        "entry_mps": metres(split.entry_mps),
        "lowest_mps": metres(split.lowest_mps),
        "exit_mps": metres(split.exit_mps),
    }


def moment(seconds: float) -> str | None:
    """Write seconds since 1970 as ISO 8601 in UTC to the millisecond; None for NaN."""
    if not math.isfinite(seconds):
        return None
    try:
        when = _EPOCH + timedelta(milliseconds=round(seconds * 1000))
    except OverflowError:
        return None
    return when.isoformat(timespec="milliseconds").replace("+00:00", "Z")
