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
from loopwright.pacing.along_course import Along, along_course
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
from loopwright.pacing.effort import Capacity, best_level, capacity_of, why_no_capacity
from loopwright.pacing.feel import assumed_ratio
from loopwright.pacing.kinds import ground_pace
from loopwright.pacing.lane import Lane, lane_of
from loopwright.pacing.limits import Limiter
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
ENDS_M = 3.0
"""Spread in metres of where a section begins and ends, both together, a share of its length:
recordings place a corner to a metre or two, and blunter than it is. Measured (docs/pacing.md)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Scene:
    lane: Lane
    rider: Rider
    limiter: Limiter
    belief: Belief
    joint: Joint
    along: Along
    laps: int


def plan_lap(
    course: Course, rider: Rider, *, fit: RiderFit | None = None, laps: int = 1
) -> LapPlan:
    """Plan ``laps`` laps of ``course``; every lap but the first is the flying lap.

    Raises ValueError for fewer than one lap or a course of no length.
    """
    if laps < 1 or course.length_m <= 0:
        raise ValueError("a plan needs at least one lap of some length")
    lane, belief = lane_of(course), belief_of(rider, fit)
    scene = _Scene(
        lane=lane,
        rider=rider,
        limiter=Limiter(lane, rider),
        belief=belief,
        joint=joint_of(fit),
        along=along_course(course, lane.dist_m, belief, fit),
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
        basis=basis_words(course, fit, capacity, total, why_no_capacity(rider)),
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
        limits=scene.limiter.of(setting),
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
        scene.limiter.of(setting),
        power_w=level * effort_shape(scene.lane.grade, setting.uphill_gain),
        efficiency=setting.efficiency,
        pace=ground_pace(scene.lane, setting) * scene.along.pace,
    )


def _spreads(scene: _Scene, edges: Floats, level: float, *, known: bool) -> tuple[Floats, float]:
    """Log-normal spread of each section's time ``(n,)`` and of the lap time.

    Five causes, independent of each other: what is believed of the rider, the day, each trail, one
    ride of a section to the next, and for sections where they begin and end.
    """
    table = _section_times(scene, edges, level, known=known)
    usual, total = table.mean(axis=0), table.sum(axis=1)
    day, one = spread(scene.belief["day"]), spread(scene.belief["split"])
    own = one / np.sqrt(np.maximum(usual / SPLIT_S, 1.0))
    ends = ENDS_M / np.maximum(np.diff(edges), ENDS_M)
    lap_own = float(np.sqrt(((own * usual / total.mean()) ** 2).sum()))
    trail, lap_trail = _trail_spreads(scene, edges, level)
    parts = np.sqrt(np.log(table).std(axis=0) ** 2 + day**2 + own**2 + trail**2 + ends**2)
    whole = np.sqrt(np.log(total).std() ** 2 + day**2 + lap_own**2 + lap_trail**2)
    return np.asarray(parts), float(whole)


def _section_times(scene: _Scene, edges: Floats, level: float, *, known: bool) -> Floats:
    """Seconds of every section ``(draws, n)`` for settings drawn from the belief."""
    settings = draws(scene.belief, scene.joint, power_spread=LEVEL_SPREAD if known else None)
    usual = scene.belief["power_w"].value
    runs = [_rides(scene, one, level * one.power_w / usual)[1] for one in settings]
    table = np.array([np.diff(np.interp(edges, scene.lane.dist_m, run.time_s)) for run in runs])
    return np.asarray(np.maximum(table, SHORTEST_S))  # a section may be shorter than the grid


def _trail_spreads(scene: _Scene, edges: Floats, level: float) -> tuple[Floats, float]:
    time_s = _rides(scene, middle(scene.belief), level)[1].time_s
    places = np.searchsorted(scene.lane.dist_m, edges).astype(np.int32)
    along = scene.along
    return along.spread(time_s, places), float(along.spread(time_s, places[[0, -1]])[0])
