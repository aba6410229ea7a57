"""Where the time went: every section over all laps of a ride.

Gets a lap sheet. Gives for each section its best, median, fade and spread, what a usual lap loses
on it, and how corner speeds change from lap to lap. Promises: only complete laps of the way ridden
more often count.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from loopwright.laps.compare import complete_laps, median_error_s, splits_at
from loopwright.model.ids import Way
from loopwright.model.laps import Lap, LapSheet, Split


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionTimes:
    """One section over all laps, in seconds.

    ``lost_s`` is the median less the best; ``over_target_s`` the median less the target, None
    without one; ``fade_per_lap_s`` positive when slowing, None for one lap.
    """

    number: int
    name: str
    from_m: float
    to_m: float
    best_s: float
    median_s: float
    lost_s: float
    std_error_s: float
    target_s: float | None = None
    over_target_s: float | None = None
    fade_per_lap_s: float | None = None
    spread_s: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CornerLaps:
    """Speeds in m/s through one corner, lap by lap, and how the lowest changes a lap."""

    number: int
    name: str
    at_m: float
    laps: tuple[int, ...]
    entry_mps: tuple[float, ...]
    lowest_mps: tuple[float, ...]
    exit_mps: tuple[float, ...]
    lowest_change_mps: float | None


def usual_laps(sheet: LapSheet) -> list[Lap]:
    """Complete laps of the way ridden more often, forward if equal."""
    ahead, back = complete_laps(sheet, Way.FORWARD), complete_laps(sheet, Way.BACKWARD)
    return back if len(back) > len(ahead) else ahead


def section_times(sheet: LapSheet) -> tuple[SectionTimes, ...]:
    """Sum up the times of every section, in the order ridden; empty without a complete lap."""
    laps = usual_laps(sheet)
    if not laps:
        return ()
    keys = [(s.number, s.name, s.from_m, s.to_m) for s in laps[0].splits]
    return tuple(_section(splits_at(laps, key)) for key in keys)


def _section(rows: Sequence[Split]) -> SectionTimes:
    times = [one.elapsed_s for one in rows]
    median, best, target = float(np.median(times)), min(times), rows[0].target_s
    return SectionTimes(
        number=rows[0].number,
        name=rows[0].name,
        from_m=rows[0].from_m,
        to_m=rows[0].to_m,
        best_s=best,
        median_s=median,
        lost_s=median - best,
        std_error_s=median_error_s(times, [one.std_error_s for one in rows]),
        target_s=target,
        over_target_s=None if target is None else median - target,
        fade_per_lap_s=_slope(times),
        spread_s=float(np.std(times, ddof=1)) if len(times) > 1 else None,
    )


def _slope(values: Sequence[float]) -> float | None:
    if len(values) < 2:
        return None
    return float(np.polyfit(np.arange(len(values)), np.array(values), 1)[0])


def corner_laps(sheet: LapSheet) -> tuple[CornerLaps, ...]:
    """Corner speeds lap by lap, in the order ridden."""
    laps = usual_laps(sheet)
    table: dict[tuple[int, float], list[tuple[int, Split]]] = {}
    for lap in laps:
        for one in lap.splits:
            if one.lowest_mps is not None:
                table.setdefault((one.number, one.from_m), []).append((lap.number, one))
    return tuple(_corner(rows) for rows in table.values())


def _corner(rows: Sequence[tuple[int, Split]]) -> CornerLaps:
    first = rows[0][1]
    lowest = [one.lowest_mps or 0.0 for _, one in rows]
    return CornerLaps(
        number=first.number,
        name=first.name,
        at_m=(first.from_m + first.to_m) / 2,
        laps=tuple(number for number, _ in rows),
        entry_mps=tuple(one.entry_mps or 0.0 for _, one in rows),
        lowest_mps=tuple(lowest),
        exit_mps=tuple(one.exit_mps or 0.0 for _, one in rows),
        lowest_change_mps=_slope(lowest),
    )


def ground_ledger(sheets: Sequence[LapSheet]) -> Mapping[str, float]:
    """Metres ridden by surface over several sheets."""
    total: dict[str, float] = {}
    for sheet in sheets:
        for word, metres in sheet.ground_m.items():
            total[word] = total.get(word, 0.0) + metres
    return dict(sorted(total.items()))
