"""A season plan in rows of words: weeks, days, loads.

Gets a plan; gives weeks with their days and sums. Promises: every day says training, recovery or
asks which; loads are shown as coarse, as they are.
"""

from __future__ import annotations

import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from loopwright.app.season_ridden import ridden_words
from loopwright.app.told import told, told_each
from loopwright.app.words import capital, count, say
from loopwright.model.season import DayLabel, SeasonPlan, Session
from loopwright.season import COARSE, DrillCount, weekly_loads
from loopwright.season.purposes import Purpose

WEEKS_TOLD = 4
SKILLS = "skills hour"
LABELS = {
    DayLabel.TRAINING: "training",
    DayLabel.RECOVERY: "recovery",
    DayLabel.OPEN: "training or recovery?",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Week:
    """Sessions of the seven days from ``monday``."""

    monday: date
    sessions: tuple[Session, ...]

    @property
    def minutes(self) -> float:
        """Minutes planned or ridden, easy spins too."""
        return sum(s.minutes for s in self.sessions if s.label is DayLabel.TRAINING or _spin(s))

    @property
    def effort(self) -> float:
        """Mean length of one hard effort, minutes; 0 when the week has none."""
        hard = [s.effort_minutes for s in self.sessions if s.hard and s.effort_minutes > 0]
        return statistics.fmean(hard) if hard else 0.0


def _spin(session: Session) -> bool:
    """Tell a planned easy spin from a day of rest."""
    planned = session.purpose == Purpose.RECOVERY.value and session.minutes > 0
    return planned and session.label is DayLabel.RECOVERY


def weeks_of(plan: SeasonPlan) -> tuple[Week, ...]:
    """Group a plan by week, Monday first."""
    by_monday: dict[date, list[Session]] = {}
    for session in plan.sessions:
        monday = session.on - timedelta(days=session.on.weekday())
        by_monday.setdefault(monday, []).append(session)
    return tuple(
        Week(monday=monday, sessions=tuple(rows)) for monday, rows in sorted(by_monday.items())
    )


def day_words(session: Session) -> str:
    """Say one day: date, label, what."""
    day = session.on.strftime("%a %d")
    label = say(LABELS[session.label])
    if session.label is not DayLabel.TRAINING and not _spin(session):
        return say("{day}  {label}", day=day, label=label)
    return say(
        "{day}  {label}: {kind}, {minutes} min",
        day=day, label=label, kind=say(session.kind), minutes=f"{session.minutes:.0f}",
    )  # fmt: skip


def session_words(session: Session) -> str:
    """Say everything about one session."""
    if session.label is DayLabel.OPEN:
        return say("This day has no label yet: is it training or recovery?")
    if session.label is DayLabel.RECOVERY:
        return told(session.purpose) or say("Recovery: off the bike or an easy spin.")
    parts = [told(session.purpose)]
    if session.laps:
        parts.append(
            say("1 lap, an effort of {effort} min" if session.laps == 1
                else "{laps} laps, efforts of {effort} min, {rest} min rest", laps=session.laps,
                effort=f"{session.effort_minutes:g}", rest=f"{session.rest_minutes:g}")
        )  # fmt: skip
    if session.loop:
        parts.append(say("on {loop}", loop=session.loop))
    if session.rating_cr10 is not None:
        load = session.rating_cr10 * session.minutes
        parts.append(say("rated {r} of 10: load about {load}", r=f"{session.rating_cr10:g}",
                         load=f"{round(load, -1):.0f}"))  # fmt: skip
    if session.ridden is not None:
        parts.append(ridden_words(session.ridden))
    if session.note:
        parts.append(told_each(session.note))
    return ". ".join(capital(part.rstrip(".")) for part in parts if part) + "."


def week_words(number: int, week: Week, weeks: int) -> str:
    """Say one week: number, dates, hours."""
    sunday = week.monday + timedelta(days=6)
    left = weeks - number - 1
    return say(
        "{when}: {first} to {last}, {hours} h",
        when=count(left, "1 week to go", "{n} weeks to go") if left else say("Race week"),
        first=week.monday.strftime("%d %b" if sunday.month != week.monday.month else "%d"),
        last=sunday.strftime("%d %b"),
        hours=f"{week.minutes / 60:.1f}",
    )  # fmt: skip


def load_words(plan: SeasonPlan, today: date) -> str:
    """Say the load of the weeks rated so far, the newest last, and how coarse it is."""
    rated = [week for week in weekly_loads(plan, today) if week.load > 0]
    if not rated:
        return say("Note how hard a session felt: load is that times its minutes, week by week.")
    lines = [
        say("week of {day}: about {load}", day=week.monday.strftime("%d %b"),
            load=f"{week.load:.0f}")
        + (say(", monotony {m}", m=f"{week.monotony:.1f}") if week.monotony is not None else "")
        + (say(", {n} not rated", n=week.unrated) if week.unrated else "")
        for week in rated[-WEEKS_TOLD:]
    ]  # fmt: skip
    how = say("Load is felt effort times minutes; monotony is high when every day is alike.")
    return "\n".join([*lines, f"{how} {capital(COARSE)}."])


def short_words(counts: Sequence[DrillCount]) -> str:
    """Say which drills the days given leave too little room for, and the hours of skills."""
    few = ", ".join(say(c.kind) for c in counts if c.short)
    hours = sum(c.hours for c in counts if c.kind == SKILLS)
    said = say("Skills and pump track: {h} h in all.", h=f"{hours:.1f}")
    if few:
        said += " " + say("Fewer than wanted: {few}. More or longer easy days make room.", few=few)
    return said
