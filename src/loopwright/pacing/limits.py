"""The limits of speed a setting gives a lane.

Gets a lane, a rider and one setting after the other. Gives caps, braking and resistance. Promises:
the same setting gives the same numbers, whatever was asked before.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable
from dataclasses import dataclass
from typing import Literal

import numpy as np
from scipy.ndimage import minimum_filter1d

from loopwright.model.arrays import Floats
from loopwright.model.rider import Rider
from loopwright.pacing.belief import Setting
from loopwright.pacing.constants import (
    GRAVITY,
    PITCH_OVER,
    REAR_LOAD,
    STEEP_FROM,
    TOP_MPS,
    WHEEL_FACTOR,
)
from loopwright.pacing.lane import Lane
from loopwright.pacing.physics import braking, corner_speed

TIGHTEST_M = 2.0
SHARPEST_M = 1.8
"""A corner cap starts 2 m before its place, and no corner counts as tighter than 1.8 m (P)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """What holds the rider on the grid: speeds in m/s, ``hold`` m/s^2, forces in N."""

    corner: Floats
    cap: Floats
    hold: Floats
    pull: Floats
    most: Floats
    drag: float
    per: float
    walk_mps: float


def limits_of(lane: Lane, rider: Rider, setting: Setting, *, rim_kg: float = 0.0) -> Limits:
    """Caps, braking and resistance of one setting on the lane.

    ``rim_kg`` of the mass sits at the rim beyond what wheels usually weigh: speeding it up costs
    twice, as it turns and moves on.
    """
    return Limiter(lane, rider, rim_kg=rim_kg).of(setting)


class Limiter:
    """Limits of many settings on one lane, one after the other.

    A fit moves one value at a time: what the last setting had alike is not computed again.
    """

    def __init__(self, lane: Lane, rider: Rider, *, rim_kg: float = 0.0) -> None:
        """Compute what no setting changes."""
        mass = rider.mass_kg + rider.bike_kg
        self._lane = lane
        self._weight = mass * GRAVITY * (1.0 / np.hypot(1.0, lane.grade))
        self._radius = np.maximum(1.0 / np.maximum(np.abs(lane.curvature_per_m), 1e-4), SHARPEST_M)
        self._fall = np.maximum(-lane.grade - STEEP_FROM, 0.0)
        self._per = lane.step_m / (mass * WHEEL_FACTOR + rim_kg)
        self._last: dict[str, tuple[Hashable, Floats]] = {}

    def of(self, setting: Setting) -> Limits:
        """Give the limits of one setting."""
        lane, grip = self._lane, setting.grip.tobytes()
        corner = self._kept("corner", (grip,), lambda: self._corner(setting))
        return Limits(
            corner=corner,
            cap=self._kept(
                "cap",
                (grip, setting.comfort.tobytes(), setting.steep_slows),
                lambda: self._caps(corner, setting),
            ),
            hold=self._kept("hold", (grip, setting.brake_share), lambda: self._hold(setting)),
            pull=self._kept(
                "pull",
                (setting.rolling.tobytes(),),
                lambda: self._weight * (lane.grade + setting.rolling[lane.surface]),
            ),
            most=self._kept("most", (grip, setting.thrust), lambda: self._most(setting)),
            walk_mps=setting.walk_mps,
            drag=lane.air * setting.cda_m2,
            per=self._per,
        )

    def _kept(self, name: str, key: Hashable, make: Callable[[], Floats]) -> Floats:
        """Give what was last made under ``name`` if it hangs on the same values, or make it."""
        have = self._last.get(name)
        if have is None or have[0] != key:
            have = self._last[name] = (key, make())
        return have[1]

    def _corner(self, setting: Setting) -> Floats:
        lane = self._lane
        return corner_speed(self._radius, setting.grip[lane.surface], lane.bank)

    def _hold(self, setting: Setting) -> Floats:
        lane = self._lane
        return braking(setting.brake_share * setting.grip[lane.surface], lane.grade, PITCH_OVER)

    def _most(self, setting: Setting) -> Floats:
        grip = setting.grip[self._lane.surface]
        return np.asarray(self._weight * np.minimum(REAR_LOAD * grip, setting.thrust))

    def _caps(self, corner: Floats, setting: Setting) -> Floats:
        """Corner and comfort caps; each reaches back a little, so braking ends before the place."""
        lane = self._lane
        comfort = setting.comfort[lane.roughness] / (1.0 + setting.steep_slows * self._fall)
        cap = np.minimum(np.minimum(corner, comfort), TOP_MPS)
        back = round(TIGHTEST_M / lane.step_m)
        mode: Literal["wrap", "nearest"] = "wrap" if lane.closed else "nearest"
        return np.asarray(minimum_filter1d(cap, back + 1, mode=mode, origin=-((back + 1) // 2)))
