"""A sprint from a standing start along a straight.

Gets a lane, its limits and what the rider has in the legs. Gives the time, the speed at the end and
the power. Promises: the sprint spends no more than half of W'.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loopwright.model.arrays import Floats
from loopwright.pacing.lane import Lane
from loopwright.pacing.limits import Limits

SPENT = 0.5
"""Share of W' one sprint may spend (P), so that it can be ridden again."""
MOST_CP = 3.0
"""No sprint is planned above this many times critical power (P; racers start at about 481 W for
68 s, Macdermid and Stannard 2012)."""
ROUNDS = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Sprint:
    """Seconds over the straight, speed at its end, mean power in W."""

    time_s: float
    exit_mps: float
    power_w: float


def standing_sprint(
    lane: Lane, limits: Limits, ends_m: tuple[float, float], *, efficiency: float, cp_w: float,
    w_prime_j: float,
) -> Sprint:  # fmt: skip
    """Sprint from standing over lap metres ``ends_m`` at P = CP + SPENT W'/t (hyperbola)."""
    inside = _places(lane, ends_m)
    power, time_s, leave = MOST_CP * cp_w, 0.0, 0.0
    for _ in range(ROUNDS):
        time_s, leave = _run(lane, limits, inside, power * efficiency)
        power = min(cp_w + SPENT * w_prime_j / max(time_s, 1.0), MOST_CP * cp_w)
    return Sprint(time_s=time_s, exit_mps=leave, power_w=power)


def _places(lane: Lane, ends_m: tuple[float, float]) -> slice:
    """Grid places between lap metres; two at least, since the gate may leave a sliver."""
    first = int(np.searchsorted(lane.dist_m, ends_m[0]))
    end = int(np.searchsorted(lane.dist_m, ends_m[1], side="right"))
    first = min(first, len(lane.dist_m) - 2)
    return slice(first, max(end, first + 2))


def _run(lane: Lane, limits: Limits, inside: slice, watts: float) -> tuple[float, float]:
    from loopwright.pacing.kernels import power_pass  # compiles: only when needed

    cap: Floats = limits.cap[inside]
    speed, time, _ = power_pass(
        0.0, cap, limits.corner[inside], np.full(len(cap), watts), limits.pull[inside],
        limits.most[inside], limits.drag, limits.per, lane.step_m, min(0.9, float(cap.min())),
    )  # fmt: skip
    return float(time[-1]), float(speed[-1])
