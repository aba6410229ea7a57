"""Targets for each section of a lap.

Gets a course, a run over it and its spread. Gives split targets that tile the lap. Promises: the
target times add up to the lap time; what does not apply is None.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from loopwright.geo.sections import Section
from loopwright.model.arrays import Floats
from loopwright.model.ground import FeatureKind
from loopwright.model.rider import Rider, SplitTarget
from loopwright.pacing.feel import cr10_band, heart_band
from loopwright.pacing.gears import gear_for, torque_nm
from loopwright.pacing.lane import Lane
from loopwright.pacing.limits import Limits
from loopwright.pacing.ride import Run
from loopwright.pacing.sprint import standing_sprint

CLIMBS = (FeatureKind.CLIMB, FeatureKind.STEEP_CLIMB)
SPRINTS = (FeatureKind.STRAIGHT, FeatureKind.FUNNEL)
LOOK_S = 2.0
"""Riders look 1 to 3 s ahead (Nee and Herterich 2022); the target is the middle, at entry."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Basis:
    """What targets are read from: the flying lap on its grid, and what the effort compares to.

    ``cp_w`` and ``w_prime_j`` are known or assumed; ``show_power`` is False when assumed.
    """

    dist_m: Floats
    run: Run
    rider: Rider
    cp_w: float
    show_power: bool
    lane: Lane
    limits: Limits
    efficiency: float
    w_prime_j: float


def targets_of(parts: tuple[Section, ...], basis: Basis, sd: Floats) -> tuple[SplitTarget, ...]:
    """One target per section; ``sd`` ``(n,)`` is the log-normal spread of each time."""
    edges = np.array([part.from_m for part in parts] + [parts[-1].to_m])
    times = np.diff(np.interp(edges, basis.dist_m, basis.run.time_s))
    rows = zip(parts, times.tolist(), sd.tolist(), strict=True)
    return tuple(_target(part, basis, time_s, spread) for part, time_s, spread in rows)


def _target(part: Section, basis: Basis, time_s: float, spread: float) -> SplitTarget:
    factor = float(np.exp(1.6448536 * spread))
    bare = SplitTarget(
        number=part.number,
        name=part.name,
        from_m=part.from_m,
        to_m=part.to_m,
        time_s=time_s,
        low_s=time_s / factor,
        high_s=time_s * factor,
    )
    kind = part.feature.kind if part.feature else None
    if kind is FeatureKind.CORNER:
        return _with_speeds(bare, basis)
    felt = _with_effort(bare, basis)
    if kind in CLIMBS:
        return _with_gear(felt, basis)
    if kind in SPRINTS:
        return _with_sprint(_with_speeds(felt, basis, look=False), basis)
    return felt


def _with_sprint(target: SplitTarget, basis: Basis) -> SplitTarget:
    sprint = standing_sprint(
        basis.lane, basis.limits, (target.from_m, target.to_m), efficiency=basis.efficiency,
        cp_w=basis.cp_w, w_prime_j=basis.w_prime_j,
    )  # fmt: skip
    return replace(
        target,
        standing_s=sprint.time_s,
        sprint_mps=sprint.exit_mps,
        sprint_power_w=sprint.power_w if basis.show_power else None,
    )


def _with_speeds(target: SplitTarget, basis: Basis, *, look: bool = True) -> SplitTarget:
    inside = (basis.dist_m >= target.from_m) & (basis.dist_m <= target.to_m)
    ends = np.interp([target.from_m, target.to_m], basis.dist_m, basis.run.speed_mps)
    speeds = np.concatenate((ends, basis.run.speed_mps[inside]))
    entry, leave = float(ends[0]), float(ends[1])
    return replace(
        target,
        entry_mps=entry,
        lowest_mps=float(speeds.min()),
        exit_mps=leave,
        look_ahead_m=LOOK_S * entry if look else None,
    )


def mean_power_w(basis: Basis, from_m: float, to_m: float) -> float:
    """Mean power in W over lap metres, weighted by time."""
    grid = np.linspace(from_m, to_m, max(int(to_m - from_m), 2) + 1)
    power = np.interp(grid, basis.dist_m, basis.run.power_w)
    time = np.interp(grid, basis.dist_m, basis.run.time_s)
    step = np.diff(time)
    return float((power[:-1] * step).sum() / max(step.sum(), 1e-9))


def _with_effort(target: SplitTarget, basis: Basis) -> SplitTarget:
    power = mean_power_w(basis, target.from_m, target.to_m)
    ratio = power / basis.cp_w
    heart = heart_band(ratio, most_bpm=basis.rider.max_heart_rate_bpm, seconds=target.time_s)
    return replace(
        target,
        power_w=power if basis.show_power else None,
        effort_cr10=cr10_band(ratio),
        heart_rate_bpm=heart,
    )


def _with_gear(target: SplitTarget, basis: Basis) -> SplitTarget:
    speed = (target.to_m - target.from_m) / max(target.time_s, 1e-9)
    gear = gear_for(speed, basis.rider)
    if gear is None:
        return target
    torque = None if target.power_w is None else torque_nm(target.power_w, gear.cadence_rpm)
    return replace(target, cadence_rpm=gear.cadence_rpm, gear=gear.words, torque_nm=torque)
