"""The season: dates, labels, sessions."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

from loopwright.model.ids import RideId


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
    counts_from: date | None = None
    """First day whose rides count as ridden this season; None is the first day of the plan."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RiddenLaps:
    """What was ridden of a session, as it was measured when it was noted.

    ``laps`` counts complete laps of ``loop``; times are None where there are too few of them.
    ``fade_per_lap_s`` is positive when slowing. It stays true when the ride or the loop is gone.
    """

    ride: RideId
    loop: str
    laps: int
    best_s: float | None = None
    median_s: float | None = None
    fade_per_lap_s: float | None = None
    spread_s: float | None = None


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
    ridden: RiddenLaps | None = None
    by_hand: bool = False
    """Whether a person labelled the day; planning again keeps such a label."""

    @property
    def done(self) -> bool:
        """Tell whether it was rated or its ride noted."""
        return self.rating_cr10 is not None or self.ridden is not None


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonPlan:
    """Sessions in date order, one entry a day from the first day planned to the last race.

    Days ridden before the first day of the newest plan come first.
    """

    wishes: SeasonWishes
    sessions: tuple[Session, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class GroundMet:
    """Ground ridden between two days: moving seconds and metres by surface.

    ``rides`` counts the rides in it, ``untimed`` those of the area that carry no times and so
    cannot be dated.
    """

    time_s: Mapping[str, float] = field(default_factory=dict)
    length_m: Mapping[str, float] = field(default_factory=dict)
    rides: int = 0
    untimed: int = 0
