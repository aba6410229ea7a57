"""The season: dates, labels, sessions."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum


class DayLabel(StrEnum):
    """Every day is one or the other; OPEN asks which."""

    TRAINING = "training"
    RECOVERY = "recovery"
    OPEN = "open"


@dataclass(frozen=True, slots=True, kw_only=True)
class Race:
    """A race day. ``ground_m`` is what it may bring, metres by surface, if known."""

    name: str
    on: date
    ground_m: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonWishes:
    """What the rider can give. Days are 0 (Monday) to 6 (Sunday)."""

    races: tuple[Race, ...]
    weeks: int = 12
    training_days: tuple[int, ...] = (1, 3, 5, 6)
    hours_a_week: float = 6.0
    hard_days_in_a_row: int = 1
    weeks_style: str = "even"
    """``even`` or ``blocked``."""
    wanted_counts: Mapping[str, int] = field(default_factory=dict)
    """Sessions of a kind wanted in four weeks; kinds left out take the usual count."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """One dated training session: ``kind`` names a built-in mix; ``purpose`` what it is for."""

    on: date
    label: DayLabel
    kind: str
    purpose: str
    minutes: float
    effort_minutes: float
    laps: int
    rest_minutes: float
    hard: bool
    loop: str = ""
    rating_cr10: float | None = None
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonPlan:
    """Sessions in date order, one entry a day from the first day to the last race."""

    wishes: SeasonWishes
    sessions: tuple[Session, ...]
