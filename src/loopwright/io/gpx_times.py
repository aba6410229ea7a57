"""Time words of GPX files to seconds since 1970 UTC.

Gets the text of ``time`` elements; gives seconds, NaN where there is none or it makes no sense.
Promises: every value is the one gpxpy would give (fractions cut after six digits, a time without
a zone is UTC). Dates of the usual layout are computed all at once; what follows the seconds is
read by gpxpy once for each different ending; anything else is read by gpxpy whole. White space
around a time is allowed, as the schema language says (gpxpy drops such times).
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

import numpy as np
from gpxpy.gpx import GPXException
from gpxpy.gpxfield import parse_time
from numpy.typing import NDArray

from loopwright.model.arrays import Floats

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_MICROSECOND = timedelta(microseconds=1)
_MILLION = 1_000_000
_EXACT = 2**53
"""Up to here, about the years 1684 to 2255, microseconds are whole in a float; others go the
slow way, so that no value is rounded twice."""
_LAYOUT = "0000-00-00T00:00:00"
_HEAD = len(_LAYOUT)
_DIGITS = np.array([place for place, mark in enumerate(_LAYOUT) if mark == "0"])
_MARKS = np.array([place for place, mark in enumerate(_LAYOUT) if mark != "0"])
_MARK_CODES = np.frombuffer(_LAYOUT.encode(), dtype=np.uint8)[_MARKS]
_BLANK = " " * _HEAD
_LEAST = np.array([1, 1, 0, 0, 0])
_MOST = np.array([12, 30, 23, 59, 59])
"""Month, day, hour, minute, second; a 31st and the end of February are left to gpxpy."""
_SURE_DAY, _FEBRUARY = 28, 2


def read_times(words: Sequence[str | None]) -> Floats:
    """Return ``(n,)`` seconds since 1970 UTC; NaN for None and for what is no time."""
    if not words:
        return np.zeros(0)
    heads = [(word or "")[:_HEAD] for word in words]
    whole, usual = _usual(heads)
    tails = [(word or "")[_HEAD:] for word in words]
    ends = {tail: microseconds(f"1970-01-01T00:00:00{tail}") for tail in set(tails)}
    usual &= np.array([ends[tail] is not None for tail in tails])
    added = np.array([ends[tail] or 0 for tail in tails], dtype=np.int64)
    total = whole + added
    usual &= np.abs(total) <= _EXACT
    seconds = total / _MILLION
    for row in np.flatnonzero(~usual).tolist():
        seconds[row] = _seconds(words[row])
    return seconds


def _seconds(word: str | None) -> float:
    value = None if word is None else microseconds(word.strip())
    return np.nan if value is None else value / _MILLION


def microseconds(word: str) -> int | None:
    """Return whole microseconds since 1970 UTC, read by gpxpy; None for what is no time."""
    try:
        moment = parse_time(word)
        if moment is None:
            return None
        aware = moment if moment.tzinfo else moment.replace(tzinfo=UTC)
        return (aware - _EPOCH) // _MICROSECOND
    except (GPXException, ValueError, OverflowError):  # also for a zone beyond a day
        return None


def _usual(heads: Sequence[str]) -> tuple[NDArray[np.int64], NDArray[np.bool_]]:
    """Return microseconds of ``YYYY-MM-DDTHH:MM:SS`` words, and which of them are real dates."""
    padded = [head if len(head) == _HEAD and head.isascii() else _BLANK for head in heads]
    codes = np.frombuffer("".join(padded).encode(), dtype=np.uint8).reshape(-1, _HEAD)
    digits = codes[:, _DIGITS].astype(np.int64) - ord("0")
    fits = (digits >= 0).all(axis=1) & (digits <= 9).all(axis=1)
    fits &= (codes[:, _MARKS] == _MARK_CODES).all(axis=1)
    year = digits[:, :4] @ np.array([1000, 100, 10, 1])
    pairs = digits[:, 4::2] * 10 + digits[:, 5::2]
    fits &= (year >= 1) & ((pairs >= _LEAST) & (pairs <= _MOST)).all(axis=1)
    fits &= (pairs[:, 1] <= _SURE_DAY) | (pairs[:, 0] != _FEBRUARY)
    days = _days(year, pairs[:, 0], pairs[:, 1])
    seconds = days * 86_400 + pairs[:, 2:] @ np.array([3600, 60, 1])
    return seconds * _MILLION, fits


def _days(
    year: NDArray[np.int64], month: NDArray[np.int64], day: NDArray[np.int64]
) -> NDArray[np.int64]:
    """Days since 1970-01-01 in the Gregorian calendar.

    The year is taken to start in March, so that the leap day comes last; 719,468 days lie between
    0000-03-01 and 1970-01-01 (checked against the standard library in the tests).
    """
    year = year - (month <= 2)
    month = (month + 9) % 12
    within = (153 * month + 2) // 5 + day - 1
    return year * 365 + year // 4 - year // 100 + year // 400 + within - 719_468
