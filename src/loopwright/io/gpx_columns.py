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
from loopwright.io.gpx_times import read_times
from loopwright.io.plain import plain
from loopwright.model.arrays import Floats

Words = Sequence[str | None]
_LONGEST_SHOWN = 30


@dataclass(slots=True)
class Rows:
    """Words of points as they stand in the file, one entry a point."""

    lat: list[str | None] = field(default_factory=list)
    lon: list[str | None] = field(default_factory=list)
    ele: list[str | None] = field(default_factory=list)
    time: list[str | None] = field(default_factory=list)
    extras: dict[str, dict[int, float]] = field(default_factory=dict)
    """Kind to row to value, for the rows that have one."""
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
    extras: Mapping[str, Floats]

    def __len__(self) -> int:
        """Count the points."""
        return len(self.lat)

    def column(self, key: str) -> Floats:
        """Values of one extra, all NaN if this run has none."""
        values = self.extras.get(key)
        return np.full(len(self.lat), np.nan) if values is None else values

    def has(self, key: str) -> bool:
        """Tell whether any value of one extra is there."""
        return bool(np.isfinite(self.extras[key]).any())

    def part(self, start: int, end: int) -> Block:
        """Rows ``start`` up to ``end``."""
        extras = {key: values[start:end] for key, values in self.extras.items()}
        return Block(
            lat=self.lat[start:end],
            lon=self.lon[start:end],
            ele_m=self.ele_m[start:end],
            time_s=self.time_s[start:end],
            extras=extras,
        )


Complain = Callable[[int, str], WorldError]
"""Makes the error for a row and what is wrong with it."""


def block(rows: Rows, complain: Complain) -> Block:
    """Turn words into numbers; raises what ``complain`` makes for the first bad row."""
    return Block(
        lat=degrees("lat", rows.lat, most=90.0, complain=complain),
        lon=degrees("lon", rows.lon, most=180.0, complain=complain),
        ele_m=heights(rows.ele, complain),
        time_s=read_times(rows.time),
        extras={key: sparse(words, len(rows)) for key, words in rows.extras.items()},
    )


def degrees(name: str, words: Words, *, most: float, complain: Complain) -> Floats:
    """Return latitudes or longitudes, none beyond ``most``."""
    values = _numbers(name, ["" if word is None else word for word in words], complain)
    fits = np.abs(values) <= most  # False for NaN
    if not fits.all():
        row = int(np.argmin(fits))
        raise complain(row, f"{name}={_shown(words[row])} is off the globe")
    return values


def heights(words: Words, complain: Complain) -> Floats:
    """Return heights, NaN where there is none."""
    values = _numbers("ele", [word or "nan" for word in words], complain)
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


def finite(word: str | bytes) -> float | None:
    """Return the number a word says, None if it is none or not finite."""
    try:
        value = float(word)
    except ValueError:
        return None
    return value if np.isfinite(value) else None


def sparse(values: Mapping[int, float], count: int) -> Floats:
    """Spread values by row over ``(count,)``, NaN elsewhere."""
    column = np.full(count, np.nan)
    column[list(values)] = list(values.values())
    return column
