"""The season planner: from what the rider can give to dated sessions.

Gets wishes and today; gives one session a day up to the last race. Promises: the rider's days,
hours and hard days in a row are kept; efforts never get longer again before race day; the same
kind never serves the same purpose twice running; what was ridden, rated or chosen stays.
The last race is the one the season is built for. A planner of what to ride where; no medical or
coaching authority.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from loopwright.model.season import DayLabel, SeasonPlan, SeasonWishes, Session
from loopwright.season.budget import Week, minutes_of
from loopwright.season.checked import checked
from loopwright.season.hard_days import DAY, hard_days, monday_of
from loopwright.season.ladder import effort_minutes, laps_wanted, race_like, rest_minutes
from loopwright.season.purposes import NOTES, USUAL_COUNTS, Purpose, Turns

WARM_UP_MIN = 15.0
LEAST_WARM_UP_MIN = 10.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """What each day is, before any session is chosen; ``done`` are days that stay as they are."""

    done: Mapping[date, Session]
    days: tuple[date, ...]
    races: Mapping[date, str]
    training: frozenset[date]
    hard: frozenset[date]
    long: frozenset[date]
    minutes: Mapping[date, float]


def plan_season(
    wishes: SeasonWishes, today: date, *, previous: SeasonPlan | None = None
) -> SeasonPlan:
    """Plan from today, or ``wishes.weeks`` before the last race if that is later.

    ``previous`` is the plan so far: its days before today and days rated or ridden stay as they
    are, and loops and notes of later days are kept where the kind stays the same. What lies behind
    counts for the limits.

    Raises
    ------
    NoAnswerError
        If no race is left, or a wish is out of range.
    """
    first = checked(wishes, today)
    past = _past(previous, today, first)
    frame = _frame(wishes, first, past, previous.sessions if previous else ())
    turns = Turns(wanted={**USUAL_COUNTS, **wishes.wanted_counts}, first=first)
    for session in past:
        _recall(turns, session)
    sessions = [_session(day, frame, turns) for day in frame.days]
    kept = _kept(sessions, previous)
    return SeasonPlan(wishes=wishes, sessions=(*past, *kept))


def _past(previous: SeasonPlan | None, today: date, first: date) -> list[Session]:
    """Give what lies behind: days before today, and what was ridden before the first day."""
    sessions = previous.sessions if previous else ()
    return [s for s in sessions if s.on < first and (s.on < today or s.done)]


def _frame(
    wishes: SeasonWishes, first: date, past: Sequence[Session], before: Sequence[Session]
) -> Frame:
    last = max(race.on for race in wishes.races)
    days = tuple(first + k * DAY for k in range((last - first).days + 1))
    done = {s.on: s for s in before if s.done and first <= s.on <= last}
    behind = [*past, *done.values()]
    races = {r.on: r.name for r in wishes.races if r.on >= first and r.on not in done}
    free = [day for day in days if day not in done]
    training = [d for d in free if d.weekday() in wishes.training_days and d not in races]
    race_days = [race.on for race in wishes.races]
    ridden = [s.on for s in behind if s.hard]
    hard = hard_days(wishes, training, race_days, ridden=ridden) if training else frozenset()
    minutes: dict[date, float] = {}
    long: set[date] = set()
    for monday in sorted({monday_of(day) for day in free}):
        spent = sum(s.minutes for s in behind if monday_of(s.on) == monday)
        week = replace(_week(monday, free, (races, training, hard)), ridden_min=spent)
        minutes.update(minutes_of(week, wishes, last))
        long.update(week.long)
    return Frame(
        done=done,
        days=days,
        races=races,
        training=frozenset(training),
        hard=hard,
        long=frozenset(long),
        minutes=minutes,
    )


def _week(
    monday: date,
    days: Sequence[date],
    kinds: tuple[Mapping[date, str], Sequence[date], frozenset[date]],
) -> Week:
    races, training, hard = kinds
    here = [day for day in days if monday_of(day) == monday]
    return Week(
        monday=monday,
        hard=tuple(day for day in here if day in hard),
        easy=tuple(day for day in here if day in training and day not in hard),
        races=tuple(day for day in here if day in races),
        recovery=tuple(day for day in here if day not in training and day not in races),
    )


def _session(day: date, frame: Frame, turns: Turns) -> Session:
    minutes = frame.minutes.get(day, 0.0)
    if day in frame.done:
        _recall(turns, frame.done[day])
        return frame.done[day]
    if day in frame.races:
        return _race(day, frame.races[day], minutes)
    if minutes == 0.0:
        return _plain(day, Purpose.REST, "", 0.0)
    if day not in frame.training:
        return _plain(day, Purpose.RECOVERY, turns.take(Purpose.RECOVERY, day), minutes)
    if day in frame.hard:
        return _hard(day, (frame.days[-1] - day).days, minutes, turns)
    return _easy(day, minutes, turns, long=day in frame.long)


def _race(day: date, name: str, minutes: float) -> Session:
    base = _plain(day, Purpose.RACE, "", minutes)
    words = f"{Purpose.RACE.value}: {name}" if name else Purpose.RACE.value
    return replace(base, label=DayLabel.TRAINING, purpose=words, hard=True)


def _plain(day: date, purpose: Purpose, kind: str, minutes: float) -> Session:
    resting = purpose in {Purpose.REST, Purpose.RECOVERY}
    return Session(
        on=day,
        label=DayLabel.RECOVERY if resting else DayLabel.TRAINING,
        kind=kind,
        purpose=purpose.value,
        minutes=minutes,
        effort_minutes=0.0,
        laps=0,
        rest_minutes=0.0,
        hard=False,
        note=NOTES.get((purpose, kind), ""),
    )


def _hard(day: date, to_go: int, minutes: float, turns: Turns) -> Session:
    effort = effort_minutes(to_go)
    rest = rest_minutes(effort)
    laps = min(laps_wanted(to_go), _laps_that_fit(minutes, effort, rest))
    if laps < 1:
        return _easy(day, minutes, turns)
    purpose = Purpose.RACE_EFFORTS if race_like(effort) else Purpose.LONG_EFFORTS
    base = _plain(day, purpose, turns.take(purpose, day), minutes)
    return replace(base, hard=True, effort_minutes=effort, laps=laps, rest_minutes=rest)


def _laps_that_fit(minutes: float, effort: float, rest: float) -> int:
    warm_up = WARM_UP_MIN if minutes >= 2 * WARM_UP_MIN + effort else LEAST_WARM_UP_MIN
    return int((minutes - warm_up + rest) // (effort + rest))


def _easy(day: date, minutes: float, turns: Turns, *, long: bool = False) -> Session:
    purpose = turns.most_owed(day, long=long)
    return _plain(day, purpose, turns.take(purpose, day), minutes)


def _recall(turns: Turns, session: Session) -> None:
    if session.kind and session.purpose in {purpose.value for purpose in Purpose}:
        turns.remember(Purpose(session.purpose), session.kind)


def _kept(sessions: Sequence[Session], previous: SeasonPlan | None) -> list[Session]:
    """Keep what was chosen or said of the old sessions of the same day and kind."""
    old = {s.on: s for s in previous.sessions} if previous else {}
    return [_with_choices(s, old[s.on]) if s.on in old else s for s in sessions]


def _with_choices(new: Session, old: Session) -> Session:
    if old.done:
        return old
    if old.by_hand:
        label = old.label
        new = replace(new, label=label, by_hand=True, hard=new.hard and label is DayLabel.TRAINING)
    if (new.kind, new.purpose) != (old.kind, old.purpose):
        return new
    return replace(new, loop=old.loop, note=old.note)
