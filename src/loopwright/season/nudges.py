"""What the planner asks or points out, in plain words.

Gets a plan; gives sentences with their day. Promises: a day that is neither training nor recovery
is always asked about; a limit broken by hand is told, never mended in silence.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from loopwright.model.season import DayLabel, SeasonPlan, Session
from loopwright.season.hard_days import DAY, monday_of

EVIDENCE = (
    "Blocked or even weeks: in one study of cyclists a block of five hard days, then one a week,"
    " beat two a week over four weeks (Ronnestad, Hansen and Ellefsen 2012); with the load"
    " matched over 12 weeks there was no difference (Front. Physiol. 2022, 13:837634), and"
    " McGawley 2017 found none. Choose what fits your weeks."
)
CAUTION = (
    "A planner of what to ride where. Rest when you need to; for training and health ask a"
    " qualified coach or a doctor."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Nudge:
    """One sentence about one day."""

    on: date
    words: str


def nudges(plan: SeasonPlan) -> tuple[Nudge, ...]:
    """List everything to ask or point out, by day."""
    found = [*_open_days(plan), *_too_hard(plan), *_too_long(plan)]
    return tuple(sorted(found, key=lambda nudge: (nudge.on, nudge.words)))


def _open_days(plan: SeasonPlan) -> Iterator[Nudge]:
    for session in plan.sessions:
        if session.label is DayLabel.OPEN:
            yield Nudge(on=session.on, words="Training or recovery? This day is neither yet.")


def _too_hard(plan: SeasonPlan) -> Iterator[Nudge]:
    run, before = 0, None
    for session in plan.sessions:
        follows = before is not None and session.on - before == DAY
        run = (run + 1 if follows else 1) if session.hard else 0
        before = session.on
        if run > plan.wishes.hard_days_in_a_row and not _is_race(plan, session):
            words = f"Hard day {run} in a row; you allowed {plan.wishes.hard_days_in_a_row}."
            yield Nudge(on=session.on, words=words)


def _is_race(plan: SeasonPlan, session: Session) -> bool:
    return any(race.on == session.on for race in plan.wishes.races)


def _too_long(plan: SeasonPlan) -> Iterator[Nudge]:
    weeks: dict[date, float] = {}
    for session in plan.sessions:
        monday = monday_of(session.on)
        weeks[monday] = weeks.get(monday, 0.0) + session.minutes
    for monday, minutes in weeks.items():
        if minutes > plan.wishes.hours_a_week * 60 + 1e-6:
            words = f"This week holds {minutes / 60:.1f} h; you gave {plan.wishes.hours_a_week:g}."
            yield Nudge(on=monday, words=words)
