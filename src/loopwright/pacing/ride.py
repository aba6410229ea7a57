"""Ride a lane: the speed, time and power of a first lap from standing and of a flying lap.

Gets a lane, its limits and the power the rider gives at each place. Gives runs. Promises: on a
closed lap the flying lap ends at the speed it started with.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from loopwright.model.arrays import Floats
from loopwright.pacing.constants import EASIEST, HARDEST
from loopwright.pacing.lane import Lane
from loopwright.pacing.limits import Limits

MOST_LAPS = 12
SAME_MPS = 1e-4


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """One lap on the grid: ``speed_mps``, ``time_s``, ``power_w`` (at the pedals), all ``(n,)``."""

    speed_mps: Floats
    time_s: Floats
    power_w: Floats

    @property
    def total_s(self) -> float:
        """Lap time in seconds."""
        return float(self.time_s[-1])


def effort_shape(grade: Floats, gain: float) -> Floats:
    """Effort over the plan's level at each place: harder uphill, easier down."""
    return np.clip(1.0 + gain * grade, EASIEST, HARDEST)


def ride(
    lane: Lane, limits: Limits, *, power_w: Floats, efficiency: float, pace: Floats
) -> tuple[Run, Run]:
    """First lap from standing, then the flying lap.

    ``power_w`` ``(n,)`` is the most given at the pedals; ``pace`` ``(n,)`` stretches times there.
    """
    from loopwright.pacing.kernels import brake_pass, power_pass  # compiles: only when needed

    envelope = brake_pass(limits.cap, limits.corner, limits.hold, lane.step_m, lane.closed)
    push = min(limits.walk_mps, float(envelope.min()))

    def once(start: float) -> Run:
        speed, time, used = power_pass(
            start, envelope, limits.corner, power_w * efficiency, limits.pull, limits.most,
            limits.drag, limits.per, lane.step_m, push,
        )  # fmt: skip
        spent = np.diff(time) * (pace[1:] + pace[:-1]) / 2
        clock = np.concatenate(([0.0], np.cumsum(spent)))
        return Run(speed_mps=speed / pace, time_s=clock, power_w=used / efficiency)

    first = once(0.0)
    return first, _flying(first, once, float(pace[-1])) if lane.closed else first


def _flying(first: Run, once: Callable[[float], Run], pace: float) -> Run:
    lap = first
    for _ in range(MOST_LAPS):
        start = float(lap.speed_mps[-1]) * pace
        lap = once(start)
        if abs(float(lap.speed_mps[-1]) * pace - start) < SAME_MPS:
            break
    return lap
