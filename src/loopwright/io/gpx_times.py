"""Time words of GPX files to seconds since 1970 UTC.

Gets the text of ``time`` elements; gives seconds, NaN where there is none or it makes no sense.
Promises: every value is the one gpxpy would give (fractions cut after six digits, a time without
a zone is UTC); only the look-up is quicker, because recordings repeat the same minute 60 times.
White space around a time is allowed, as the schema language says (gpxpy drops such times).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

import numpy as np
from gpxpy.gpx import GPXException
from gpxpy.gpxfield import parse_time

from loopwright.model.arrays import Floats

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_MICROSECOND = timedelta(microseconds=1)
_MINUTE_LENGTH = len("2024-05-01T08:30:")
_KNOWN_LIMIT = 100_000
"""Look-up tables are emptied beyond this size, so that odd files cannot grow them for ever."""


@dataclass(slots=True)
class TimeReader:
    """Reads times of one file, remembering the minutes and the second words it has met."""

    _minutes: dict[str, int | None] = field(default_factory=dict)
    _seconds: dict[str, int | None] = field(default_factory=dict)

    def read(self, words: Sequence[str | None]) -> Floats:
        """Return ``(n,)`` seconds since 1970 UTC; NaN for None and for what is no time."""
        return np.array([self._one(word) for word in words], dtype=np.float64)

    def _one(self, word: str | None) -> float:
        if not word:
            return np.nan
        minute, second = word[:_MINUTE_LENGTH], word[_MINUTE_LENGTH:]
        base = self._minutes.get(minute)
        extra = self._seconds.get(second)
        if base is None or extra is None:
            return self._learn(word)
        return (base + extra) / 1_000_000

    def _learn(self, word: str) -> float:
        """Read an unmet word the slow way, and keep its halves if they mean something alone."""
        minute, second = word[:_MINUTE_LENGTH], word[_MINUTE_LENGTH:]
        if len(self._minutes) + len(self._seconds) > _KNOWN_LIMIT:
            self._minutes.clear()
            self._seconds.clear()
        whole = microseconds(word.strip())
        base = microseconds(f"{minute}00Z")
        extra = microseconds(f"1970-01-01T00:00:{second}")
        if whole is not None and base is not None and extra is not None and base + extra == whole:
            self._minutes[minute] = base
            self._seconds[second] = extra
        return np.nan if whole is None else whole / 1_000_000


def microseconds(word: str) -> int | None:
    """Return whole microseconds since 1970 UTC, read by gpxpy; None for what is no time."""
    try:
        moment = parse_time(word)
    except (GPXException, ValueError, OverflowError):
        return None
    if moment is None:
        return None
    if moment.tzinfo is None:
        moment = moment.replace(tzinfo=UTC)
    try:
        return (moment - _EPOCH) // _MICROSECOND
    except OverflowError:
        return None
