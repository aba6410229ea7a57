"""Physical constants and the priors of the pacing model, each with its source or standing.

Standing: S seen in a source, C computed, M from memory, P common practice without a source.
Intervals are 90 % and read as log-normal. docs/pacing.md prints this table.
"""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType

GRAVITY = 9.80665
"""m/s^2, standard gravity (ISO 80000-3)."""
WHEEL_FACTOR = 1.028
"""Effective mass for speeding up over real mass, a heavy 29-inch pair (C, docs/pacing.md)."""
PITCH_OVER = 0.56
"""Largest braking in g before a bicycle goes over its front wheel (M: Bicycling Science)."""
REAR_LOAD = 0.6
"""Share of the weight on the driven wheel while climbing (P)."""
TOP_MPS = 16.0
"""No stretch of trail is planned faster than this, 58 km/h (P)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Prior:
    """A value, its 90 % interval and where it comes from."""

    value: float
    low: float
    high: float
    source: str


def _prior(value: float, low: float, high: float, source: str) -> Prior:
    return Prior(value=value, low=low, high=high, source=source)


_M = "M, from memory"
_P = "P, common practice"
_FHWA = "S floor: 0.18-0.61 accepted by 85 % of riders (FHWA, Emerging Users, table 19); M range"

GRIP = MappingProxyType(
    {
        "unknown": _prior(0.45, 0.25, 0.65, _FHWA),
        "asphalt": _prior(0.60, 0.35, 0.80, _FHWA),
        "concrete": _prior(0.60, 0.35, 0.80, _FHWA),
        "compacted": _prior(0.52, 0.40, 0.65, _M),
        "fine_gravel": _prior(0.42, 0.30, 0.55, _M),
        "gravel": _prior(0.35, 0.25, 0.48, _M),
        "pebblestone": _prior(0.32, 0.22, 0.45, _M),
        "ground": _prior(0.48, 0.30, 0.65, _M),
        "dirt": _prior(0.50, 0.35, 0.65, _M),
        "grass": _prior(0.38, 0.25, 0.52, _M),
        "sand": _prior(0.28, 0.18, 0.40, _M),
        "mud": _prior(0.24, 0.14, 0.36, _M),
        "rock": _prior(0.48, 0.28, 0.68, _M),
        "wood": _prior(0.35, 0.18, 0.55, _M),
    }
)
"""Side grip a rider uses in corners, as a ratio to the weight, by OpenStreetMap surface."""

ROLLING = MappingProxyType(
    {
        "unknown": _prior(0.021, 0.013, 0.032, "S mean of a nine-tyre off-road study, about 0.021"),
        "asphalt": _prior(0.010, 0.008, 0.016, "M range; S Bertucci 2013 0.015-0.017 on a road"),
        "concrete": _prior(0.010, 0.008, 0.016, "as asphalt"),
        "compacted": _prior(0.014, 0.011, 0.018, _M),
        "fine_gravel": _prior(0.016, 0.013, 0.021, _M),
        "gravel": _prior(0.018, 0.014, 0.024, _M),
        "pebblestone": _prior(0.023, 0.016, 0.033, _M),
        "ground": _prior(0.019, 0.013, 0.027, _M),
        "dirt": _prior(0.017, 0.012, 0.024, _M),
        "grass": _prior(0.028, 0.020, 0.040, _M),
        "sand": _prior(0.060, 0.045, 0.085, _M),
        "mud": _prior(0.045, 0.028, 0.070, _M),
        "rock": _prior(0.025, 0.018, 0.036, _M),
        "wood": _prior(0.016, 0.011, 0.024, _M),
    }
)
"""Rolling resistance as a ratio to the weight, by OpenStreetMap surface."""

COMFORT = MappingProxyType(
    {
        "unknown": _prior(10.0, 7.0, 14.0, _P),
        "excellent": _prior(14.0, 10.0, 19.0, _P),
        "good": _prior(13.0, 9.0, 18.0, _P),
        "intermediate": _prior(11.0, 8.0, 15.0, _P),
        "bad": _prior(8.5, 6.0, 12.0, _P),
        "very_bad": _prior(7.0, 5.0, 10.0, _P),
        "horrible": _prior(5.5, 3.8, 8.0, _P),
        "very_horrible": _prior(4.2, 2.8, 6.2, _P),
        "impassable": _prior(1.2, 0.8, 1.8, _P),
    }
)
"""Speed in m/s a rider lets the bicycle run to on gentle ground, by OpenStreetMap smoothness."""

STEEP_FROM = 0.05
"""Comfort speed is divided by 1 + steep_slows x (fall - 0.05) beyond a fall of 5 % (P)."""

SINGLE = MappingProxyType(
    {
        "cda_m2": _prior(0.37, 0.32, 0.42, "M range for an upright off-road seat"),
        "efficiency": _prior(0.96, 0.94, 0.976, "S upper end: Martin 1998, 0.976; P lower end"),
        "power_per_kg": _prior(3.0, 2.1, 4.1, _P),
        "uphill_gain": _prior(1.5, 0.3, 5.0, _P),
        "thrust": _prior(0.28, 0.17, 0.45, _P),
        "walk_mps": _prior(1.0, 0.7, 1.4, _P),
        "steep_slows": _prior(3.0, 0.6, 15.0, _P),
        "brake_share": _prior(0.6, 0.42, 0.85, _P),
        "trail": _prior(1.0, 0.93, 1.075, "P: one trail to the next, beyond what is known of it"),
        "pace": _prior(1.0, 0.93, 1.075, _P),
        "bends": _prior(1.0, 0.80, 1.25, _P),
        "uphill": _prior(1.0, 0.93, 1.075, _P),
        "downhill": _prior(1.0, 0.93, 1.075, _P),
        "meetings": _prior(1.0, 0.85, 1.18, _P),
        "day": _prior(1.0, 0.965, 1.036, "P: good and bad days"),
        "split": _prior(1.0, 0.90, 1.11, "P: one ride of a section to the next"),
    }
)
"""Single values of the rider.

Drag area, drive efficiency, power a kg of rider when nothing is known, how much harder the rider
works uphill, the largest driving force as a ratio to the weight (legs, lowest gear and balance on
a steep climb), the speed of pushing the bicycle, how much a steep fall slows the rider down, the
share of the grip used in braking for a corner, and ratios of time: ``trail`` one piece of trail,
``pace`` all laps, ``bends``, ``uphill``, ``downhill`` and ``meetings`` such places, ``day`` one
ride, ``split`` one section of one lap.
"""

W_PRIME = _prior(18_000.0, 11_000.0, 26_000.0, "M range in J for trained riders")
RESERVE = 0.15
"""Share of W' the plan keeps back: the balance is a model, not a gauge (P)."""
EASIEST = 0.7
HARDEST = 1.35
"""Effort is P0 x (1 + uphill_gain x grade), held between these (P: harder up, easier down)."""
