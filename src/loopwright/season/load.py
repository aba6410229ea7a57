"""How much was ridden: session load, weekly sums, monotony. Coarse by nature.

Load is the rating of the whole session on the CR-10 scale times its minutes (Foster 2001); asking
again gives figures 28 % apart (Wallace 2014), so everything here is rounded and carries no alarm.
Monotony is the mean daily load of a week over its standard deviation (Foster; from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from loopwright.model.season import SeasonPlan, Session
from loopwright.season.hard_days import DAY, monday_of

ROUND_TO = 10.0
COARSE = "coarse: asking twice can differ by a quarter"


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekLoad:
    """One week. ``load`` is rounded to tens; ``monotony`` to halves, None when it says nothing.

    ``unrated`` counts sessions of days up to today that have minutes but no rating.
    """

    monday: date
    planned_minutes: float
    rated_minutes: float
    load: float
    monotony: float | None
    unrated: int


def session_load(session: Session) -> float | None:
    """Rating times minutes, or None while the session is not rated."""
    return None if session.rating_cr10 is None else session.rating_cr10 * session.minutes


def weekly_loads(plan: SeasonPlan, today: date) -> tuple[WeekLoad, ...]:
    """Sum up every week of the plan; days after today count as planned only."""
    weeks: dict[date, list[Session]] = {}
    for session in plan.sessions:
        weeks.setdefault(monday_of(session.on), []).append(session)
    return tuple(_week(monday, weeks[monday], today) for monday in sorted(weeks))


def _week(monday: date, sessions: list[Session], today: date) -> WeekLoad:
    rated = [s for s in sessions if s.rating_cr10 is not None]
    due = [s for s in sessions if s.on <= today and s.minutes > 0]
    loads = {s.on: session_load(s) or 0.0 for s in sessions}
    whole = today >= monday + 6 * DAY and all(s.rating_cr10 is not None for s in due)
    daily = [loads.get(monday + k * DAY, 0.0) for k in range(7)]
    return WeekLoad(
        monday=monday,
        planned_minutes=sum(s.minutes for s in sessions),
        rated_minutes=sum(s.minutes for s in rated),
        load=round(sum(loads.values()) / ROUND_TO) * ROUND_TO,
        monotony=monotony(daily) if whole else None,
        unrated=sum(s.rating_cr10 is None for s in due),
    )


def monotony(daily: Sequence[float]) -> float | None:
    """Mean over sample standard deviation of daily loads, to the half; None when none vary."""
    spread = float(np.std(daily, ddof=1)) if len(daily) > 1 else 0.0
    if spread < 1e-9:
        return None
    return round(2 * float(np.mean(daily)) / spread) / 2
