"""Ridden laps of a loop."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from loopwright.model.ids import RideId, Way


@dataclass(frozen=True, slots=True, kw_only=True)
class Split:
    """Time over lap metres ``from_m`` to ``to_m``; ``std_error_s`` says how far to trust it.

    Corner speeds are set for corners only. ``target_s`` is None without a plan.
    """

    number: int
    name: str
    from_m: float
    to_m: float
    elapsed_s: float
    moving_s: float
    std_error_s: float
    target_s: float | None = None
    entry_mps: float | None = None
    lowest_mps: float | None = None
    exit_mps: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Lap:
    """One lap. ``start_s`` is seconds since 1970 at the gate, interpolated, not a sample's time."""

    number: int
    way: Way
    start_s: float
    elapsed_s: float
    moving_s: float
    length_m: float
    complete: bool
    splits: tuple[Split, ...]
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LapSheet:
    """All laps of one ride on one loop.

    ``best_s`` None when no lap is complete; ``fade_per_lap_s`` is the slope of lap time over lap
    number (positive: slowing), ``spread_s`` the standard deviation, both over complete laps.
    ``ground_m`` is metres ridden by surface.
    """

    ride: RideId
    loop: str
    laps: tuple[Lap, ...]
    best_s: float | None
    median_s: float | None
    fade_per_lap_s: float | None
    spread_s: float | None
    ground_m: Mapping[str, float]
