"""Seconds every arc takes, for a lap window in minutes.

Gets a terrain and a rider. Gives seconds per arc. Promises: always above 0; the sum over a loop is
near the plan's lap time, but the plan knows the corners at the junctions and this does not.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from loopwright.model.ground import Terrain
from loopwright.model.ids import Arc, Way
from loopwright.model.rider import Rider, RiderFit
from loopwright.pacing.arc_lane import air_of, arc_lane, end_to_end
from loopwright.pacing.belief import belief_of, middle
from loopwright.pacing.effort import capacity_of
from loopwright.pacing.kinds import ground_pace
from loopwright.pacing.limits import limits_of
from loopwright.pacing.ride import effort_shape

ROLLING_IN_MPS = 4.0
"""Speed with which an arc is entered: that after a junction taken without haste (P)."""


def arc_seconds(terrain: Terrain, rider: Rider, fit: RiderFit | None = None) -> Mapping[Arc, float]:
    """Predict the seconds of every arc, both ways; stretches without a profile are left out."""
    from loopwright.pacing.kernels import ride_pieces

    arcs: list[Arc] = [(key, way) for key in terrain.profiles for way in Way]
    if not arcs:
        return {}
    lane, firsts = end_to_end([arc_lane(terrain, arc) for arc in arcs], air_of(terrain))
    setting = middle(belief_of(rider, fit))
    capacity = capacity_of(rider)
    level = capacity.cp_w if capacity else setting.power_w
    limits = limits_of(lane, rider, setting)
    power = level * setting.efficiency * effort_shape(lane.grade, setting.uphill_gain)
    time = ride_pieces(
        firsts, np.full(len(arcs), ROLLING_IN_MPS), limits.cap, limits.corner, limits.hold, power,
        limits.pull, limits.most, limits.drag, limits.per, lane.step_m, limits.walk_mps,
    )  # fmt: skip
    spent = np.maximum(np.diff(time, append=time[-1]), 0.0) * ground_pace(lane, setting)
    ends = np.add.reduceat(spent, firsts[:-1])
    lengths = [terrain.lengths_m.get(arc[0], 1.0) for arc in arcs]
    metres = np.maximum(np.diff(firsts) - 1.0, 1.0) * lane.step_m
    scaled = ends * np.array(lengths) / metres
    return {arc: max(float(s), 0.1) for arc, s in zip(arcs, scaled, strict=True)}
