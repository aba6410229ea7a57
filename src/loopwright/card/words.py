"""Say features, targets, kinds and dates in few words.

Gets values of the model; gives short text. Promises: nothing is said that was not given.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from types import MappingProxyType
from typing import TypeAlias

from loopwright.card.palette import SURFACE
from loopwright.model.course import CourseFeature
from loopwright.model.ground import GROUND_PREFIX, FeatureKind
from loopwright.model.rider import SplitTarget
from loopwright.units import FOOT_M, MILE_M, Units, duration, percent, short

MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip

KIND_WORDS: Mapping[str, str] = MappingProxyType(
    {
        "climb_gain_m": "climbing",
        "steep_gain_m": "steep climbing",
        "corners": "corners",
        "tight_corners": "tight corners",
        "descent_m": "descending",
        "rough_descent_m": "rough descent",
        "straights": "straights",
        "steady_m": "steady riding",
        "funnels": "funnels",
        "narrow_m": "narrow trail",
        "rough_m": "rough ground",
        "smooth_m": "smooth ground",
        "easy_m": "gentle ground",
        "obstacles_m": "obstacles",
    }
)

GLANCE: Mapping[FeatureKind, str] = MappingProxyType(
    {
        FeatureKind.CLIMB: "up",
        FeatureKind.STEEP_CLIMB: "steep",
        FeatureKind.DESCENT: "down",
        FeatureKind.ROUGH_DESCENT: "rough",
        FeatureKind.CORNER: "turn",
        FeatureKind.STRAIGHT: "straight",
        FeatureKind.FUNNEL: "funnel",
        FeatureKind.STEADY: "steady",
    }
)

WANTED_BY: Mapping[str, tuple[FeatureKind, ...]] = MappingProxyType(
    {
        "climb_gain_m": (FeatureKind.CLIMB, FeatureKind.STEEP_CLIMB),
        "steep_gain_m": (FeatureKind.STEEP_CLIMB,),
        "corners": (FeatureKind.CORNER,),
        "tight_corners": (FeatureKind.CORNER,),
        "descent_m": (FeatureKind.DESCENT, FeatureKind.ROUGH_DESCENT),
        "rough_descent_m": (FeatureKind.ROUGH_DESCENT,),
        "straights": (FeatureKind.STRAIGHT, FeatureKind.FUNNEL),
        "funnels": (FeatureKind.FUNNEL,),
        "steady_m": (FeatureKind.STEADY,),
    }
)
"""Which features on the card an amount of the mix asks for."""


def kind_words(kind: str) -> str:
    """Name an amount of a mix."""
    if kind.startswith(GROUND_PREFIX):
        surface = kind.removeprefix(GROUND_PREFIX)
        return f"on {SURFACE[surface].words}" if surface in SURFACE else surface
    return KIND_WORDS.get(kind, kind.replace("_", " "))


def per_km_of(kind: str, densities: Mapping[str, float]) -> float | None:
    """Features per km that an amount counts, from densities by feature kind; None if unknown.

    Tight corners are not told from other corners by a density, so they have none.
    """
    if kind == "tight_corners":
        return None
    found = [densities[k.value] for k in WANTED_BY.get(kind, ()) if k.value in densities]
    return sum(found) if found else None


def in_metres(kind: str) -> bool:
    """Tell whether an amount is metres (else a count)."""
    return kind.endswith("_m") or kind.startswith(GROUND_PREFIX)


def amount_words(kind: str, amount: float, units: Units) -> str:
    """Say an amount of a mix with its unit where it has one."""
    return short(amount, units) if in_metres(kind) else f"{amount:.0f}"


Parts: TypeAlias = tuple[CourseFeature, ...]
SHARPER: Mapping[FeatureKind, str] = MappingProxyType(
    {
        FeatureKind.STEEP_CLIMB: "steep",
        FeatureKind.ROUGH_DESCENT: "rough",
        FeatureKind.FUNNEL: "funnel",
    }
)


def inside_words(parts: Parts, units: Units) -> str:
    """Say the sharper parts of a feature: ``, steep 82 m at 15 %``; empty without any."""
    if not parts:
        return ""
    length = short(sum(part.to_m - part.from_m for part in parts), units)
    steep = max(abs(part.grade_mean) for part in parts)
    grade = f" at {percent(steep)}" if parts[0].kind is FeatureKind.STEEP_CLIMB else ""
    return f", {SHARPER.get(parts[0].kind, parts[0].kind.value)} {length}{grade}"


def feature_words(feature: CourseFeature, units: Units, parts: Parts = ()) -> str:
    """Name a feature with what tells it from its neighbours, and the sharper parts it holds."""
    return _whole_words(feature, units) + inside_words(parts, units)


def _whole_words(feature: CourseFeature, units: Units) -> str:
    kind = feature.kind
    if kind is FeatureKind.CORNER:
        return _corner_words(feature)
    if kind in {FeatureKind.STRAIGHT, FeatureKind.STEADY, FeatureKind.FUNNEL}:
        length = short(feature.to_m - feature.from_m, units)
        return f"{'steady' if kind is FeatureKind.STEADY else kind.value}, {length}"
    name = kind.value.replace("_", " ")
    return f"{name}, {short(feature.gain_m, units)}, {percent(abs(feature.grade_mean))}"


def _corner_words(feature: CourseFeature) -> str:
    kind = "tight corner" if feature.tight else "corner"
    banked = ", banked" if feature.banked else ""
    return f"{kind}, {turn_words(feature)}{banked}"


def turn_words(feature: CourseFeature) -> str:
    """Say hand and angle of a corner."""
    return f"{'left' if feature.turn_deg > 0 else 'right'} {abs(feature.turn_deg):.0f}°"


def brief_words(feature: CourseFeature, units: Units, parts: Parts = ()) -> str:
    """Say a feature where its shape already tells the kind: ``left 81°``, ``20 m, 16 %``.

    A rough part takes the place of the grade: one long name would cost all rows their targets.
    """
    if feature.kind is FeatureKind.CORNER:
        return turn_words(feature)
    if feature.gain_m:
        grade = abs(feature.grade_mean)
        steep = max([abs(part.grade_mean) for part in parts] or [0.0])
        grades = percent(grade)
        if parts and parts[0].kind is FeatureKind.STEEP_CLIMB and round(100 * (steep - grade)) > 0:
            grades = f"{grade * 100:.0f}–{percent(steep)}"  # noqa: RUF001 - between numbers
        if parts and parts[0].kind is FeatureKind.ROUGH_DESCENT:
            grades = "rough"
        return f"{short(feature.gain_m, units)}, {grades}"
    return short(feature.to_m - feature.from_m, units)


def glance_words(feature: CourseFeature, units: Units) -> str:
    """Say a feature in two words, for the strip."""
    kind = feature.kind
    if kind is FeatureKind.CORNER:
        return turn_words(feature)
    name = GLANCE[kind]
    if feature.gain_m:
        return f"{name} {percent(abs(feature.grade_mean))}"
    return f"{name} {short(feature.to_m - feature.from_m, units)}"


def time_words(target: SplitTarget | None) -> str:
    """Say the split's time; tenths under a minute."""
    if target is None:
        return ""
    return duration(target.time_s, tenths=target.time_s < 60)


def interval_words(low_s: float, high_s: float) -> str:
    """Say an interval of times: ``13:20-14:50`` with an en dash."""
    tenths = high_s < 60
    return f"{duration(low_s, tenths=tenths)}–{duration(high_s, tenths=tenths)}"  # noqa: RUF001


def effort_words(target: SplitTarget) -> str:
    """Say power, or perceived effort when no power is known; empty when neither is."""
    if target.power_w is not None:
        return f"{target.power_w:.0f} W"
    if target.effort_cr10 is not None:
        low, high = target.effort_cr10
        return f"effort {low}" if low == high else f"effort {low}–{high}"  # noqa: RUF001
    if target.heart_rate_bpm is not None:
        low, high = target.heart_rate_bpm
        return f"{low}–{high} bpm"  # noqa: RUF001
    return ""


def target_words(target: SplitTarget, units: Units) -> str:
    """Say what to hold: speeds in, lowest and out of a corner, else power or effort."""
    return speeds_words(target, units) or effort_words(target)


def drive_words(target: SplitTarget) -> str:
    """Say gear, cadence and torque, as far as they are known."""
    parts = [
        target.gear,
        "" if target.cadence_rpm is None else f"{target.cadence_rpm:.0f} rpm",
        "" if target.torque_nm is None else f"{target.torque_nm:.0f} N·m",
    ]
    return ", ".join(part for part in parts if part)


def speeds_words(target: SplitTarget, units: Units) -> str:
    """Say entry, lowest and exit speed without the unit, for example ``24/15/22``."""
    speeds = (target.entry_mps, target.lowest_mps, target.exit_mps)
    if all(speed is None for speed in speeds):
        return ""
    return "/".join("?" if v is None else f"{in_speed(v, units):.0f}" for v in speeds)


def in_speed(mps: float, units: Units) -> float:
    """Speed in what people read, km/h or mph."""
    return mps * 3600 / (MILE_M if units is Units.IMPERIAL else 1000)


def speed_unit(units: Units) -> str:
    """Name the unit of ``in_speed``."""
    return "mph" if units is Units.IMPERIAL else "km/h"


def in_long(metres: float, units: Units) -> float:
    """Distance in km or miles."""
    return metres / (MILE_M if units is Units.IMPERIAL else 1000)


def long_unit(units: Units) -> str:
    """Name the unit of ``in_long``."""
    return "mi" if units is Units.IMPERIAL else "km"


def in_short(metres: float, units: Units) -> float:
    """Height or short distance in m or ft."""
    return metres / (FOOT_M if units is Units.IMPERIAL else 1)


def short_unit(units: Units) -> str:
    """Name the unit of ``in_short``."""
    return "ft" if units is Units.IMPERIAL else "m"


def date_words(day: date) -> str:
    """Say a date without any risk of mixing day and month: ``12 May 2026``."""
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


def plural(count: int, noun: str) -> str:
    """Say how many of a regular noun: ``1 lap``, ``4 laps``, ``2 stretches``."""
    if count == 1:
        return f"{count} {noun}"
    return f"{count} {noun}{'es' if noun.endswith('ch') else 's'}"
