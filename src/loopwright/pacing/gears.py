"""Gears and torque for climbs ridden at a low cadence on purpose.

Gets speed, power and the bicycle's wheel and teeth. Gives cadence, gear and torque at the crank.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from loopwright.model.rider import Rider

LOW_CADENCE_RPM = 60.0
"""Cadence aimed at for torque work on climbs. P; racers average 76 uphill (Macdermid and Stannard
2012) and 68 over a lap (Granier 2018), so 60 is clearly below either."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Gear:
    """Teeth in front and behind and the cadence they give."""

    chainring: int
    sprocket: int
    cadence_rpm: float

    @property
    def words(self) -> str:
        """The gear as riders say it, front by rear."""
        return f"{self.chainring} x {self.sprocket}"


def cadence_rpm(speed: float, *, wheel_m: float, chainring: int, sprocket: int) -> float:
    """Crank turns a minute at ``speed`` m/s: wheel turns times sprocket over chainring."""
    return speed / wheel_m * 60.0 * sprocket / chainring


def torque_nm(power_w: float, cadence: float) -> float:
    """Torque at the crank in N m: P / (2 pi n / 60); 0 when not turning."""
    return power_w / (2 * pi * cadence / 60.0) if cadence > 0 else 0.0


def gear_for(speed: float, rider: Rider, *, aim_rpm: float = LOW_CADENCE_RPM) -> Gear | None:
    """Choose the gear whose cadence at ``speed`` comes nearest to the aim; None without teeth."""
    gears = [
        Gear(
            chainring=front,
            sprocket=rear,
            cadence_rpm=cadence_rpm(speed, wheel_m=rider.wheel_m, chainring=front, sprocket=rear),
        )
        for front in rider.chainrings
        for rear in rider.sprockets
        if front > 0 and rear > 0 and rider.wheel_m > 0
    ]
    return min(gears, key=lambda gear: abs(gear.cadence_rpm - aim_rpm), default=None)
