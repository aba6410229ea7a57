"""Text columns of GPX points turned into numbers.

Gets the words of many points at once; gives arrays. Promises: a position that is no number or
lies off the globe is refused with its place in the file; an infinite height counts as missing.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from lxml import etree

from loopwright.errors import WorldError
from loopwright.io.gpx_times import TimeReader
from loopwright.io.plain import plain
from loopwright.model.arrays import Floats

Words = list[str | None]
_LONGEST_SHOWN = 30


@dataclass(slots=True)
class Rows:
    """Words of points as they stand in the file, one entry a point."""

    lat: Words = field(default_factory=list)
    lon: Words = field(default_factory=list)
    ele: Words = field(default_factory=list)
    time: Words = field(default_factory=list)
    extras: dict[str, dict[int, str]] = field(default_factory=dict)
    """Kind to row to word, for the rows that have one."""
    elements: list[etree._Element] = field(default_factory=list)

    def __len__(self) -> int:
        """Count the points."""
        return len(self.lat)


@dataclass(frozen=True, slots=True)
class Block:
    """Numbers of a run of points of one segment; arrays are ``(n,)``, NaN where missing."""

    lat: Floats
    lon: Floats
    ele_m: Floats
    time_s: Floats
    piece: int
    extras: Mapping[str, Floats]

    def column(self, key: str) -> Floats:
        """Values of one extra, all NaN if this run has none."""
        values = self.extras.get(key)
        return np.full(len(self.lat), np.nan) if values is None else values


Complain = Callable[[int, str], WorldError]
"""Makes the error for a row and what is wrong with it."""


def block(rows: Rows, *, piece: int, times: TimeReader, complain: Complain) -> Block:
    """Turn words into numbers; raises what ``complain`` makes for the first bad row."""
    return Block(
        lat=_degrees("lat", rows.lat, most=90.0, complain=complain),
        lon=_degrees("lon", rows.lon, most=180.0, complain=complain),
        ele_m=_heights(rows.ele, complain),
        time_s=times.read(rows.time),
        piece=piece,
        extras={key: _sparse(words, len(rows)) for key, words in rows.extras.items()},
    )


def _degrees(name: str, words: Words, *, most: float, complain: Complain) -> Floats:
    values = _numbers(name, ["" if word is None else word for word in words], complain)
    fits = np.abs(values) <= most  # False for NaN
    if not fits.all():
        row = int(np.argmin(fits))
        raise complain(row, f"{name}={_shown(words[row])} is off the globe")
    return values


def _heights(words: Words, complain: Complain) -> Floats:
    values = _numbers("ele", ["nan" if word is None else word for word in words], complain)
    values[np.isinf(values)] = np.nan
    return values


def _numbers(name: str, words: Sequence[str], complain: Complain) -> Floats:
    try:
        return np.array([float(word) for word in words], dtype=np.float64)
    except ValueError:
        row = next(row for row, word in enumerate(words) if _number(word) is None)
        what = (
            f"{name}={_shown(words[row])} is not a number" if words[row] else f"{name} is missing"
        )
        raise complain(row, what) from None


def _number(word: str) -> float | None:
    try:
        return float(word)
    except ValueError:
        return None


def _shown(word: str | None) -> str:
    return f'"{plain(word or "", limit=_LONGEST_SHOWN)}"'


def _sparse(words: Mapping[int, str], count: int) -> Floats:
    """Spread the words that are there over ``(count,)``; what is no finite number is missing."""
    values = np.full(count, np.nan)
    for row, word in words.items():
        number = _number(word)
        if number is not None and np.isfinite(number):
            values[row] = number
    return values
