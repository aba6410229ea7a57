"""Corners, climbs, sections and two rides in rows of words.

Gets what the laps room measured; gives rows for tables and whole sentences. Promises: a difference
no larger than its standard error is called unclear; what was not recorded is not shown as nought.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import numpy as np

from loopwright import units
from loopwright.app.told import told
from loopwright.app.words import say
from loopwright.model.rider import SplitTarget
from loopwright.units import FOOT_M, MILE_M, UNKNOWN, Units

if TYPE_CHECKING:
    from loopwright.laps.climbs import ClimbLap
    from loopwright.laps.compare import Comparison, Difference
    from loopwright.laps.sections import CornerLaps, SectionTimes

LAPS_FOR_ERROR = 3
"""A straight line through two laps fits them exactly and says nothing of its error."""

RECORDED: tuple[tuple[str, str], ...] = (
    ("power_w", "W"), ("work_kj", "kJ"), ("cadence_rpm", "rpm"), ("torque_nm", "N m"),
    ("heart_rate_bpm", "bpm"),
)  # fmt: skip
"""What a climb may carry beyond its time, with the unit for the head of its column."""


def speed_unit(look: Units) -> str:
    """Name the unit of speed figures."""
    return "mph" if look is Units.IMPERIAL else "km/h"


def _speed(mps: float, look: Units, sign: str = "") -> str:
    value = mps * 3600 / (MILE_M if look is Units.IMPERIAL else 1000.0)
    return f"{value:{sign}.1f}"


# -- sections --------------------------------------------------------------------------------


def section_row(section: SectionTimes) -> list[str]:
    """Section with best and median time and what a usual lap loses on the best."""
    return [
        told(section.name),
        units.duration(section.best_s, tenths=True),
        units.duration(section.median_s, tenths=True),
        f"{section.lost_s:+.1f} s" if section_clear(section) else say("unclear"),
    ]


def section_clear(section: SectionTimes) -> bool:
    """Tell whether what a usual lap loses is more than its standard error."""
    return section.lost_s > section.std_error_s


# -- corners ---------------------------------------------------------------------------------


def slope_error(values: Sequence[float]) -> float | None:
    """Give the standard error of the slope over 0, 1, 2, ...; None for fewer than three values.

    Least squares: s / sqrt(sum of squared distances of x from its mean), s over n - 2 (Draper and
    Smith, Applied Regression Analysis; from memory).
    """
    if len(values) < LAPS_FOR_ERROR:
        return None
    x = np.arange(len(values)) - (len(values) - 1) / 2
    y = np.array(values) - np.mean(values)
    left = y - x * float(x @ y) / float(x @ x)
    return float(np.sqrt(left @ left / (len(values) - 2) / (x @ x)))


def corner_clear(corner: CornerLaps) -> bool:
    """Tell whether the lowest speed changes by more than its standard error."""
    error = slope_error(corner.lowest_mps)
    change = corner.lowest_change_mps
    return error is not None and change is not None and abs(change) > error


def corner_name(corner: CornerLaps) -> str:
    """Name a corner where only corners stand: its number and side."""
    short = corner.name.replace(" corner", "")
    return told(short)


def corner_row(corner: CornerLaps, look: Units) -> list[str]:
    """Corner with its median speeds and how the lowest changes from lap to lap."""
    speeds = (corner.entry_mps, corner.lowest_mps, corner.exit_mps)
    change = corner.lowest_change_mps
    clear = change is not None and corner_clear(corner)
    many = len(corner.laps) >= LAPS_FOR_ERROR
    unclear = say("unclear") if many else UNKNOWN
    return [
        corner_name(corner),
        *(_speed(float(np.median(row)), look) for row in speeds),
        _speed(change, look, "+") if clear and change is not None else unclear,
    ]


def corner_lap_rows(corner: CornerLaps, look: Units) -> list[list[str]]:
    """Entry, lowest and exit speed of one corner, a row a lap."""
    speeds = zip(corner.entry_mps, corner.lowest_mps, corner.exit_mps, strict=True)
    return [
        [str(lap), *(_speed(one, look) for one in row)]
        for lap, row in zip(corner.laps, speeds, strict=True)
    ]


# -- climbs ----------------------------------------------------------------------------------


def climb_row(climb: ClimbLap, look: Units) -> list[str]:
    """Lap, time and metres or feet risen an hour."""
    rate = climb.rate_m_per_h / (FOOT_M if look is Units.IMPERIAL else 1.0)
    return [str(climb.lap), units.duration(climb.elapsed_s, tenths=True), f"{rate:.0f}"]


def rate_unit(look: Units) -> str:
    """Name the unit of the climbing rate."""
    return say("ft an hour") if look is Units.IMPERIAL else say("m an hour")


def recorded_row(climb: ClimbLap) -> list[str]:
    """Lap, then what was recorded on the climb."""
    values = (getattr(climb, key) for key, _unit in RECORDED)
    return [str(climb.lap), *(UNKNOWN if one is None else f"{one:.0f}" for one in values)]


def was_recorded(climbs: Sequence[ClimbLap]) -> list[bool]:
    """Tell for each kind of record whether any of the climbs has it."""
    return [any(getattr(c, key) is not None for c in climbs) for key, _unit in RECORDED]


def target_words(climbs: Sequence[ClimbLap], target: SplitTarget | None) -> str:
    """Say what the plan asks of a climb at low cadence, and how what was recorded compares."""
    if target is None or target.cadence_rpm is None:
        return ""
    words = [
        say("Low cadence: the plan asks for {rpm} rpm in {gear}.",
            rpm=f"{target.cadence_rpm:.0f}", gear=target.gear)
    ]  # fmt: skip
    cadence = _median(climbs, lambda c: c.cadence_rpm)
    if cadence is not None:
        words.append(_cadence_words(cadence, target.cadence_rpm))
    torque = _median(climbs, lambda c: c.torque_nm)
    if torque is not None and target.torque_nm is not None:
        words.append(
            say("Torque {have} N m, planned {want} N m.",
                have=f"{torque:.0f}", want=f"{target.torque_nm:.0f}")
        )  # fmt: skip
    return " ".join(words)


def _cadence_words(have: float, want: float) -> str:
    off = round(have - want)
    if off == 0:
        return say("Ridden at {have} rpm, as planned.", have=f"{have:.0f}")
    sentence = "Ridden at {have} rpm, {off} higher." if off > 0 else (
        "Ridden at {have} rpm, {off} lower.")  # fmt: skip
    return say(sentence, have=f"{have:.0f}", off=abs(off))


def _median(climbs: Sequence[ClimbLap], of: Callable[[ClimbLap], float | None]) -> float | None:
    known = [value for one in climbs if (value := of(one)) is not None]
    return float(np.median(known)) if known else None


# -- two rides -------------------------------------------------------------------------------


def difference_row(one: Difference) -> list[str]:
    """Section, the other ride's median, this ride's, and their difference or that it is unclear."""
    return [
        told(one.name),
        units.duration(one.a_s, tenths=True),
        units.duration(one.b_s, tenths=True),
        f"{one.difference_s:+.1f} s" if one.clear else say("unclear"),
    ]


def difference_tip(one: Difference) -> str:
    """Say a difference with its standard error."""
    return say("{seconds} s, standard error {error} s",
               seconds=f"{one.difference_s:+.1f}", error=f"{one.std_error_s:.1f}")  # fmt: skip


def comparison_words(found: Comparison) -> str:
    """Say how this ride's usual lap compares with the other's, and on how many sections."""
    lap = found.lap
    if lap is None:
        return say("These two rides share no complete lap ridden the same way.")
    values = {"seconds": f"{abs(lap.difference_s):.1f}", "error": f"{lap.std_error_s:.1f}"}
    if not lap.clear:
        words = say("No clear difference: the median laps are {seconds} s apart, no more than the "
                    "standard error of {error} s.", **values)  # fmt: skip
    elif lap.difference_s < 0:
        words = say("Median lap {seconds} s faster in this ride (standard error {error} s).",
                    **values)  # fmt: skip
    else:
        words = say("Median lap {seconds} s slower in this ride (standard error {error} s).",
                    **values)  # fmt: skip
    clear = sum(one.clear for one in found.splits)
    return words + " " + say("{n} of {all} sections differ clearly.", n=clear,
                             all=len(found.splits))  # fmt: skip
