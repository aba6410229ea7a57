"""Plan a lap: the public face of pacing.

Gets a course, a rider and perhaps the fit to the rider's rides. Gives a lap plan with times,
speeds and targets. Promises: always an answer, with what it rests on in words; the same inputs
give the same plan.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loopwright.geo.sections import sections
from loopwright.model.arrays import Floats
from loopwright.model.course import Course
from loopwright.model.rider import LapPlan, Rider, RiderFit
from loopwright.pacing.belief import (
    Belief,
    Joint,
    Setting,
    belief_of,
    draws,
    joint_of,
    middle,
    spread,
)
from loopwright.pacing.constants import W_PRIME
from loopwright.pacing.effort import Capacity, best_level, capacity_of
from loopwright.pacing.feel import assumed_ratio
from loopwright.pacing.lane import Lane, lane_of, limits_of
from loopwright.pacing.ride import Run, effort_shape, ride
from loopwright.pacing.targets import Basis, targets_of
from loopwright.pacing.words import basis_words

SHORTEST_S = 0.01
"""A section may end where it begins; its time is then taken as this, for the logarithm."""
LEVEL_SPREAD = 0.04
"""Log-normal spread of the level when critical power is known (P)."""
SPLIT_S = 40.0
"""A section this long has the full ``split`` spread; longer ones average part of it out. Twice the
time of the sections it was measured on: being slow lasts from one into the next (P)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Scene:
    lane: Lane
    rider: Rider
    belief: Belief
    joint: Joint
    laps: int


def plan_lap(
    course: Course, rider: Rider, *, fit: RiderFit | None = None, laps: int = 1
) -> LapPlan:
    """Plan ``laps`` laps of ``course``; every lap but the first is the flying lap.

    Raises ValueError for fewer than one lap or a course of no length.
    """
    if laps < 1 or course.length_m <= 0:
        raise ValueError("a plan needs at least one lap of some length")
    scene = _Scene(
        lane=lane_of(course),
        rider=rider,
        belief=belief_of(rider, fit),
        joint=joint_of(fit),
        laps=laps,
    )
    capacity = capacity_of(rider)
    level, low_j = _level(scene, capacity)
    first, flying = _rides(scene, middle(scene.belief), level)
    parts = sections(course)
    edges = np.array([part.from_m for part in parts] + [course.length_m])
    sd, lap_sd = _spreads(scene, edges, level, known=capacity is not None)
    total = first.total_s + (laps - 1) * flying.total_s
    cp = capacity.cp_w if capacity else level / assumed_ratio(total)
    basis = _basis(scene, flying, capacity, cp)
    factor = float(np.exp(1.6448536 * lap_sd))
    return LapPlan(
        lap_time_s=flying.total_s,
        low_s=flying.total_s / factor,
        high_s=flying.total_s * factor,
        first_lap_s=first.total_s,
        laps=laps,
        dist_m=scene.lane.dist_m,
        speed_mps=flying.speed_mps,
        time_s=flying.time_s,
        power_w=flying.power_w,
        splits=targets_of(parts, basis, sd),
        basis=basis_words(course, fit, capacity, total),
        w_balance_low_j=low_j,
    )


def _basis(scene: _Scene, flying: Run, capacity: Capacity | None, cp_w: float) -> Basis:
    setting = middle(scene.belief)
    return Basis(
        dist_m=scene.lane.dist_m,
        run=flying,
        rider=scene.rider,
        cp_w=cp_w,
        show_power=capacity is not None,
        lane=scene.lane,
        limits=limits_of(scene.lane, scene.rider, setting),
        efficiency=setting.efficiency,
        w_prime_j=capacity.w_prime_j if capacity else W_PRIME.value,
    )


def _level(scene: _Scene, capacity: Capacity | None) -> tuple[float, tuple[float, float] | None]:
    if capacity is None:
        return scene.belief["power_w"].value, None
    setting = middle(scene.belief)
    return best_level(lambda watts: _rides(scene, setting, watts), capacity, scene.laps)


def _rides(scene: _Scene, setting: Setting, level: float) -> tuple[Run, Run]:
    return ride(
        scene.lane,
        limits_of(scene.lane, scene.rider, setting),
        power_w=level * effort_shape(scene.lane.grade, setting.uphill_gain),
        efficiency=setting.efficiency,
        pace=setting.pace,
    )


def _spreads(scene: _Scene, edges: Floats, level: float, *, known: bool) -> tuple[Floats, float]:
    """Log-normal spread of each section's time ``(n,)`` and of the lap time."""
    settings = draws(scene.belief, scene.joint, power_spread=LEVEL_SPREAD if known else None)
    usual = scene.belief["power_w"].value
    runs = [_rides(scene, one, level * one.power_w / usual)[1] for one in settings]
    table = np.array([np.diff(np.interp(edges, scene.lane.dist_m, run.time_s)) for run in runs])
    table = np.maximum(table, SHORTEST_S)  # a section may be shorter than the grid
    model = np.log(table).std(axis=0)
    day, one = spread(scene.belief["day"]), spread(scene.belief["split"])
    own = one / np.sqrt(np.maximum(table.mean(axis=0) / SPLIT_S, 1.0))
    lap_model = float(np.log(table.sum(axis=1)).std())
    share = table.mean(axis=0) / table.sum(axis=1).mean()
    lap_own = float(np.sqrt(((own * share) ** 2).sum()))
    return np.sqrt(model**2 + day**2 + own**2), float(np.sqrt(lap_model**2 + day**2 + lap_own**2))
