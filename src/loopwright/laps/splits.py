"""Splits of one lap.

Gets a timed chain, a span and the lap's sections. Gives splits in the order they were ridden.
Promises: the splits of a complete lap tile it; a split the rider did not follow is left out.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from loopwright.geo.sections import Section
from loopwright.laps.gates import Span
from loopwright.laps.timing import DRIFT_TAU_S, Timed
from loopwright.model.arrays import Floats
from loopwright.model.ground import FeatureKind
from loopwright.model.ids import Way
from loopwright.model.laps import Split

SLOWEST_MPS = 1.0
"""Standard errors are taken at no less than walking speed."""


def splits_of(
    chain: Timed, span: Span, parts: Sequence[Section], *, length_m: float,
    targets: Mapping[tuple[float, float], float],
) -> tuple[Split, ...]:  # fmt: skip
    """Time every section of the span; ``targets`` maps (from_m, to_m) to seconds."""
    ordered = parts if chain.way is Way.FORWARD else parts[::-1]
    base = span.turn * length_m
    rows: list[Split] = []
    for part in ordered:
        ends = _ends(part, chain.way, length_m)
        start, end = base + ends[0], base + ends[1]
        if _followed(chain, span, start, end):
            times = _times(chain, span, start, end)
            rows.append(_split(chain, part, times, targets.get((part.from_m, part.to_m))))
    return tuple(rows)


def _ends(part: Section, way: Way, length_m: float) -> tuple[float, float]:
    if way is Way.FORWARD:
        return part.from_m, part.to_m
    return length_m - part.to_m, length_m - part.from_m


def _followed(chain: Timed, span: Span, start: float, end: float) -> bool:
    inside = start >= span.from_m - 1e-6 and end <= span.to_m + 1e-6
    broken = (one for one in chain.breaks if one.spoils)
    return inside and not any(one.from_m < end and one.to_m > start for one in broken)


def _times(chain: Timed, span: Span, start: float, end: float) -> tuple[float, float]:
    begin, finish = chain.time_at(np.array([start, end])).tolist()
    if abs(start - span.from_m) < 1e-6:
        begin = span.start_s
    if abs(end - span.to_m) < 1e-6:
        finish = span.end_s
    return begin, max(finish, begin)


def moving_between(chain: Timed, start_s: float, end_s: float) -> float:
    """Count moving seconds between two times; time outside the record counts as moving."""
    stopped = sum(max(min(end, end_s) - max(start, start_s), 0.0) for start, end in chain.stops)
    return max(end_s - start_s - stopped, 0.0)


def _split(chain: Timed, part: Section, times: tuple[float, float], target: float | None) -> Split:
    start, end = times
    corner = part.feature is not None and part.feature.kind is FeatureKind.CORNER
    speeds = _corner_speeds(chain, start, end) if corner else (None, None, None)
    return Split(
        number=part.number,
        name=part.name,
        from_m=part.from_m,
        to_m=part.to_m,
        elapsed_s=end - start,
        moving_s=moving_between(chain, start, end),
        std_error_s=error_s(chain, np.array([start, end])),
        target_s=target,
        entry_mps=speeds[0],
        lowest_mps=speeds[1],
        exit_mps=speeds[2],
    )


def _corner_speeds(chain: Timed, start: float, end: float) -> tuple[float, float, float]:
    times = np.linspace(start, end, max(int((end - start) / 0.5), 2) + 1)
    speed = chain.speed_at(times, half_s=1.5)
    return float(speed[0]), float(speed.min()), float(speed[-1])


def error_s(chain: Timed, times_s: Floats) -> float:
    """Give the standard error in s of the time between two moments.

    Errors along the trail over the speed there; two moments nearer than the receiver's time
    constant share most of their error.
    """
    sd = np.interp(times_s, chain.time_s, chain.std_error_m)
    speed = np.maximum(chain.speed_at(times_s), SLOWEST_MPS)
    one, two = (sd / speed).tolist()
    shared = float(np.exp(-(times_s[1] - times_s[0]) / DRIFT_TAU_S))
    return float(np.sqrt(max(one**2 + two**2 - 2 * shared * one * two, 1e-4)))
