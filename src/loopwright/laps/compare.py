"""Two rides side by side on one loop.

Gets two lap sheets of the same course. Gives the difference of every split and of the lap, with
its standard error. Promises: a difference no larger than its standard error is marked unclear.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from loopwright.model.ids import RideId, Way
from loopwright.model.laps import Lap, LapSheet, Split

MEDIAN_FACTOR = 1.2533
"""Standard error of a median over that of a mean, normal errors: sqrt(pi / 2)."""
LAPS_FOR_MEDIAN = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """Median seconds in ride a and ride b over lap metres; ``difference_s`` is b less a."""

    number: int
    name: str
    from_m: float
    to_m: float
    a_s: float
    b_s: float
    difference_s: float
    std_error_s: float

    @property
    def clear(self) -> bool:
        """Tell whether the difference is larger than its standard error."""
        return abs(self.difference_s) > self.std_error_s


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """All differences of two rides; ``lap`` None when either has no complete lap."""

    loop: str
    a: RideId
    b: RideId
    way: Way
    lap: Difference | None
    splits: tuple[Difference, ...]


def compare(a: LapSheet, b: LapSheet) -> Comparison:
    """Compare complete laps ridden the way both rides share (forward if both).

    Raises ValueError when the sheets are of different loops.
    """
    if a.loop != b.loop:
        raise ValueError(f"{a.loop} and {b.loop} are different loops")
    way = _shared_way(a, b)
    laps_a, laps_b = complete_laps(a, way), complete_laps(b, way)
    keys = [(s.number, s.name, s.from_m, s.to_m) for s in laps_a[0].splits] if laps_a else []
    rows = [_difference(key, splits_at(laps_a, key), splits_at(laps_b, key)) for key in keys]
    lap = _lap_difference(a, laps_a, laps_b) if laps_a and laps_b else None
    found = tuple(row for row in rows if row is not None)
    return Comparison(loop=a.loop, a=a.ride, b=b.ride, way=way, lap=lap, splits=found)


def complete_laps(sheet: LapSheet, way: Way) -> list[Lap]:
    """Complete laps of one way, in order."""
    return [lap for lap in sheet.laps if lap.complete and lap.way is way]


def _shared_way(a: LapSheet, b: LapSheet) -> Way:
    both = [w for w in Way if complete_laps(a, w) and complete_laps(b, w)]
    return both[0] if both else Way.FORWARD


Key = tuple[int, str, float, float]


def splits_at(laps: Iterable[Lap], key: Key) -> list[Split]:
    """Gather the splits of a section in all laps; the section is known by its lap metres."""
    return [
        one
        for lap in laps
        for one in lap.splits
        if abs(one.from_m - key[2]) < 0.5 and abs(one.to_m - key[3]) < 0.5
    ]


def _difference(key: Key, a: Sequence[Split], b: Sequence[Split]) -> Difference | None:
    if not a or not b:
        return None
    times = [[one.elapsed_s for one in rows] for rows in (a, b)]
    errors = [[one.std_error_s for one in rows] for rows in (a, b)]
    return _of(key, times, errors)


def _lap_difference(sheet: LapSheet, a: Sequence[Lap], b: Sequence[Lap]) -> Difference:
    key = (0, sheet.loop, 0.0, a[0].length_m)
    times = [[lap.elapsed_s for lap in laps] for laps in (a, b)]
    errors = [[lap_error_s(lap) for lap in laps] for laps in (a, b)]
    return _of(key, times, errors)


def lap_error_s(lap: Lap) -> float:
    """Give the standard error of a lap time: the errors at its two gates, from the outer splits."""
    ends = [lap.splits[0].std_error_s, lap.splits[-1].std_error_s] if lap.splits else [1.0]
    return float(np.mean(ends)) * float(np.sqrt(1.5))


def _of(key: Key, times: list[list[float]], errors: list[list[float]]) -> Difference:
    a_s, b_s = (float(np.median(row)) for row in times)
    one, two = (median_error_s(t, e) for t, e in zip(times, errors, strict=True))
    error = float(np.hypot(one, two))
    return Difference(
        number=key[0], name=key[1], from_m=key[2], to_m=key[3], a_s=a_s, b_s=b_s,
        difference_s=b_s - a_s, std_error_s=error,
    )  # fmt: skip


def median_error_s(times: Sequence[float], errors: Sequence[float]) -> float:
    """Give the standard error of the median of some times.

    From what the receiver leaves open, or from how the laps differ if that is more; a few laps
    alone cannot show how they differ.
    """
    count = len(times)
    receiver = float(np.sqrt(np.mean(np.square(errors))))
    seen = float(np.std(times, ddof=1)) if count >= LAPS_FOR_MEDIAN else 0.0
    factor = MEDIAN_FACTOR if count >= LAPS_FOR_MEDIAN else 1.0
    return factor * max(receiver, seen) / float(np.sqrt(count))
