"""What a lap plan asks, in rows of words: the same on the command line and in the window.

Gets a lap plan; gives rows for every section, for climbs, corners and straights, and sentences on
effort. Promises: what the plan does not know is left empty, never made up.
"""

from __future__ import annotations

from collections.abc import Sequence

from loopwright.model.rider import LapPlan, SplitTarget
from loopwright.units import Units, duration, short, speed

SPLIT_HEADS = ("section", "from", "time", "90 % between", "power", "effort", "heart rate")
CLIMB_HEADS = ("climb", "time", "power", "effort", "cadence", "gear", "torque")
CORNER_HEADS = ("corner", "in", "lowest", "out", "look ahead")
STRAIGHT_HEADS = ("straight", "in", "out", "standing start", "sprint to", "sprint power")
LEAST_CLIMB_S = 5.0
"""Too short a climb to choose a gear for: our choice."""
EFFORT_SCALE = "Effort is on the CR-10 scale, 0 rest to 10 the most you can."


def split_rows(plan: LapPlan, units: Units = Units.METRIC) -> list[list[str]]:
    """One row for every section of the lap, in riding order."""
    return [
        [
            one.name,
            short(one.from_m, units),
            _time(one.time_s),
            f"{_time(one.low_s)} to {_time(one.high_s)}",
            *_effort(one),
            _band(one.heart_rate_bpm, " bpm"),
        ]
        for one in plan.splits
    ]


def climb_rows(plan: LapPlan) -> list[list[str]]:
    """Climbs with the gear for riding them at a low cadence."""
    return [
        [
            one.name,
            _time(one.time_s),
            *_effort(one),
            _number(one.cadence_rpm, "rpm"),
            one.gear,
            _number(one.torque_nm, "N m"),
        ]
        for one in climbs(plan)
    ]


def corner_rows(plan: LapPlan, units: Units = Units.METRIC) -> list[list[str]]:
    """Corners with entry, lowest and exit speed and how far ahead to look."""
    return [
        [
            one.name,
            *(_speed(v, units) for v in (one.entry_mps, one.lowest_mps, one.exit_mps)),
            "" if one.look_ahead_m is None else short(one.look_ahead_m, units),
        ]
        for one in plan.splits
        if one.look_ahead_m is not None
    ]


def straight_rows(plan: LapPlan, units: Units = Units.METRIC) -> list[list[str]]:
    """Straights as ridden, and sprinted from a standing start."""
    return [
        [
            one.name,
            _speed(one.entry_mps, units),
            _speed(one.exit_mps, units),
            _time(one.standing_s),
            _speed(one.sprint_mps, units),
            _number(one.sprint_power_w, "W"),
        ]
        for one in plan.splits
        if one.standing_s is not None
    ]


def climbs(plan: LapPlan) -> Sequence[SplitTarget]:
    """Sections that are climbs, long enough to choose a gear for."""
    return [one for one in plan.splits if "climb" in one.name and one.time_s >= LEAST_CLIMB_S]


def lap_words(plan: LapPlan) -> str:
    """Say the lap time with its interval, and the first lap."""
    between = f"90 % between {duration(plan.low_s)} and {duration(plan.high_s)}"
    return (
        f"A flying lap in {duration(plan.lap_time_s)}, {between}; "
        f"the first lap, from standing, {duration(plan.first_lap_s)}."
    )


def balance_words(plan: LapPlan) -> str:
    """Say how low W' gets, as a range; empty when no critical power is known."""
    if plan.w_balance_low_j is None:
        return ""
    low, high = (joules / 1000 for joules in plan.w_balance_low_j)
    laps = "1 lap" if plan.laps == 1 else f"{plan.laps} laps"
    return (
        f"Over {laps}, W' falls to between {low:.1f} and {high:.1f} kJ at the lowest: an "
        "indication, since the forms in use disagree; below 0 means uncertain, not impossible."
    )


def cost_words(frame_kg: float, frame_s: float, wheel_kg: float, wheel_s: float) -> str:
    """Say what more mass costs a lap, on the frame and at the rims."""
    return (
        f"At the same effort, {frame_kg:+g} kg on the frame costs {frame_s:+.1f} s a lap, "
        f"{wheel_kg:+g} kg at the rims {wheel_s:+.1f} s."
    )


def _effort(one: SplitTarget) -> tuple[str, str]:
    return _number(one.power_w, "W"), _band(one.effort_cr10, "")


def _time(seconds: float | None) -> str:
    return "" if seconds is None else duration(seconds, tenths=seconds < 60)


def _speed(mps: float | None, units: Units) -> str:
    return "" if mps is None else speed(mps, units)


def _number(value: float | None, unit: str) -> str:
    return "" if value is None else f"{value:.0f} {unit}"


def _band(band: tuple[int, int] | None, unit: str) -> str:
    return "" if band is None else f"{band[0]} to {band[1]}{unit}"
