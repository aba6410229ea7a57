"""Laps and splits in rows of words.

Gets a lap sheet; gives rows for tables, bars and the map. Promises: an incomplete lap is shown as
such; a difference below its standard error is marked as not sure.
"""

from __future__ import annotations

from dataclasses import dataclass

from loopwright import units
from loopwright.app.bars import Bar
from loopwright.app.told import told
from loopwright.app.words import say
from loopwright.model.laps import Lap, LapSheet

BARS = 14
"""Splits shown as bars: a lap of sixty features has too many to read."""
LEAST_S = 1.0
"""Smaller differences are left off the map."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretched:
    """Seconds lost (positive) or won over lap metres, for the map."""

    from_m: float
    to_m: float
    seconds: float
    sure: bool


def lap_row(lap: Lap, target_s: float | None) -> list[str]:
    """Give number, time, difference to the target (or that it is only a part), moving time."""
    against = "" if lap.complete else say("part")
    if target_s is not None and lap.complete:
        against = f"{lap.elapsed_s - target_s:+.0f} s"
    return [
        str(lap.number),
        units.duration(lap.elapsed_s, tenths=True),
        against,
        units.duration(lap.moving_s),
    ]


def summary(sheet: LapSheet) -> str:
    """Best, median, fade and spread in one sentence."""
    whole = sum(lap.complete for lap in sheet.laps)
    if not sheet.laps:
        return say("This ride never goes round the loop in view.")
    if sheet.best_s is None or sheet.median_s is None:
        return say("No lap of this loop is complete in this ride.")
    if whole == 1:
        return say("1 complete lap, {best}.", best=units.duration(sheet.best_s, tenths=True))
    words = say(
        "{n} complete laps. Best {best}, median {median}.",
        n=whole, best=units.duration(sheet.best_s, tenths=True),
        median=units.duration(sheet.median_s, tenths=True),
    )  # fmt: skip
    if sheet.fade_per_lap_s is not None and sheet.spread_s is not None:
        words += " " + say(
            "Each lap {fade} s against the one before, spread {spread} s.",
            fade=f"{sheet.fade_per_lap_s:+.1f}", spread=f"{sheet.spread_s:.1f}",
        )  # fmt: skip
    return words


def bars_of(lap: Lap) -> tuple[Bar, ...]:
    """Give the largest differences to the target, in riding order."""
    bars = [
        Bar(name=told(s.name), seconds=s.elapsed_s - s.target_s, std_error_s=s.std_error_s)
        for s in lap.splits
        if s.target_s is not None
    ]
    largest = sorted(range(len(bars)), key=lambda number: -abs(bars[number].seconds))[:BARS]
    return tuple(bars[number] for number in sorted(largest))


def stretched(lap: Lap) -> tuple[Stretched, ...]:
    """Where the time went, along the lap."""
    return tuple(
        Stretched(
            from_m=s.from_m,
            to_m=s.to_m,
            seconds=s.elapsed_s - s.target_s,
            sure=abs(s.elapsed_s - s.target_s) >= max(LEAST_S, s.std_error_s),
        )
        for s in lap.splits
        if s.target_s is not None
    )
