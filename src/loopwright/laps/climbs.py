"""Climbs of every lap: rate, and what a power meter and a heart-rate belt recorded.

Gets a lap sheet, its course and perhaps the recording. Gives one row per climb and lap. Promises:
a climb the rider did not follow whole is left out; what was not recorded is None.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from loopwright.model.arrays import Floats
from loopwright.model.course import Course, CourseFeature
from loopwright.model.ground import FeatureKind
from loopwright.model.ids import Way
from loopwright.model.laps import Lap, LapSheet
from loopwright.model.track import RecordedTrack

UPHILL = {
    Way.FORWARD: (FeatureKind.CLIMB, FeatureKind.STEEP_CLIMB),
    Way.BACKWARD: (FeatureKind.DESCENT, FeatureKind.ROUGH_DESCENT),
}
"""A descent of the loop is a climb to whoever rides the loop backward."""
TURNING_RPM = 20.0
"""Below this cadence the rider is not pedalling and torque means nothing."""
LEAST_SHARE = 0.8
"""A mean needs a value for this share of the climb."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ClimbLap:
    """One climb in one lap; rate in metres risen an hour, torque at the crank in N m."""

    lap: int
    number: int
    name: str
    elapsed_s: float
    rate_m_per_h: float
    power_w: float | None = None
    work_kj: float | None = None
    cadence_rpm: float | None = None
    torque_nm: float | None = None
    heart_rate_bpm: float | None = None


def climb_laps(
    sheet: LapSheet, course: Course, *, recorded: RecordedTrack | None = None
) -> tuple[ClimbLap, ...]:
    """Measure every climb of every lap, by lap and in the order ridden.

    In a lap ridden backward the descents of the loop are the climbs.
    """
    rows = [
        _climb(lap, feature, course, times, recorded)
        for lap in sheet.laps
        for feature, times in _ridden(lap, course)
    ]
    return tuple(rows)


def _ridden(lap: Lap, course: Course) -> Iterator[tuple[CourseFeature, tuple[float, float]]]:
    """Climbs ridden whole in a lap, with the moments at their foot and top."""
    edges, times = _clock(lap)
    back = lap.way is Way.BACKWARD
    for feature in course.features[:: -1 if back else 1]:
        if feature.kind not in UPHILL[lap.way] or len(edges) < 2:
            continue
        if edges[0] <= feature.from_m + 1e-6 and feature.to_m <= edges[-1] + 1e-6:
            ends = [feature.to_m, feature.from_m] if back else [feature.from_m, feature.to_m]
            start, end = np.interp(ends, edges, times)
            yield feature, (float(start), float(end))


def _clock(lap: Lap) -> tuple[Floats, Floats]:
    """Rising lap metres and moments at the edges of the lap's sections; empty if some miss."""
    splits = lap.splits if lap.way is Way.FORWARD else lap.splits[::-1]
    gaps = [abs(b.from_m - a.to_m) for a, b in pairwise(splits)]
    if not splits or not lap.complete or max(gaps, default=0.0) > 1e-6:
        return np.zeros(0), np.zeros(0)
    edges = np.array([splits[0].from_m, *[one.to_m for one in splits]])
    run = np.cumsum([0.0, *[one.elapsed_s for one in splits]])
    return edges, lap.start_s + (run if lap.way is Way.FORWARD else run[-1] - run)


def _climb(
    lap: Lap, feature: CourseFeature, course: Course, times: tuple[float, float],
    recorded: RecordedTrack | None,
) -> ClimbLap:  # fmt: skip
    seconds = times[1] - times[0]
    power = _mean(recorded, "power_w", times)
    return ClimbLap(
        lap=lap.number,
        number=feature.number,
        name=_name(feature, lap.way),
        elapsed_s=seconds,
        rate_m_per_h=_rise_m(feature, course, lap.way) / max(seconds, 1e-9) * 3600.0,
        power_w=power,
        work_kj=None if power is None else power * seconds / 1000.0,
        cadence_rpm=_mean(recorded, "cadence_rpm", times),
        torque_nm=_torque(recorded, times),
        heart_rate_bpm=_mean(recorded, "heart_rate_bpm", times),
    )


def _name(feature: CourseFeature, way: Way) -> str:
    kind = feature.kind.value.replace("_", " ")
    return f"{feature.number} {kind}" + (" ridden up" if way is Way.BACKWARD else "")


def _rise_m(feature: CourseFeature, course: Course, way: Way) -> float:
    """Metres risen; those of a descent ridden up are the fall between its ends."""
    if way is Way.FORWARD:
        return feature.gain_m
    top, foot = np.interp([feature.from_m, feature.to_m], course.dist_m, course.ele_m)
    return float(max(top - foot, 0.0)) if np.isfinite(top - foot) else 0.0


def _weights(recorded: RecordedTrack, times: tuple[float, float]) -> Floats:
    """Seconds each recorded point stands for within the climb."""
    time = recorded.time_s
    step = np.diff(time, append=time[-1] if len(time) else 0.0)
    inside = (time >= times[0]) & (time < times[1])
    return np.where(inside & np.isfinite(step), np.clip(np.nan_to_num(step), 0.0, 10.0), 0.0)


def _mean(recorded: RecordedTrack | None, key: str, times: tuple[float, float]) -> float | None:
    if recorded is None or key not in recorded.extras:
        return None
    return _weighted(recorded.extras[key], _weights(recorded, times), times[1] - times[0])


def _weighted(values: Floats, weights: Floats, seconds: float) -> float | None:
    known = np.isfinite(values) & (weights > 0)
    if weights[known].sum() < LEAST_SHARE * seconds:
        return None
    return float(np.average(values[known], weights=weights[known]))


def _torque(recorded: RecordedTrack | None, times: tuple[float, float]) -> float | None:
    """Mean torque while pedalling: P / (2 pi n / 60) at each point."""
    if recorded is None or not {"power_w", "cadence_rpm"} <= set(recorded.extras):
        return None
    power, cadence = recorded.extras["power_w"], recorded.extras["cadence_rpm"]
    turning = np.isfinite(power) & (np.nan_to_num(cadence) > TURNING_RPM)
    weights = np.where(turning, _weights(recorded, times), 0.0)
    if weights.sum() <= 0:
        return None
    torque = power[turning] / (2 * np.pi * cadence[turning] / 60.0)
    return float(np.average(torque, weights=weights[turning]))
