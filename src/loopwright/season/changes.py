"""What a person changes in a plan: labels, loops, ratings, ridden laps, notes.

Gets a plan and a day; gives the plan with that day changed. Promises: everything else is the
same object; a day outside the plan is told in one sentence.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from loopwright.errors import NoAnswerError
from loopwright.model.season import DayLabel, RiddenLaps, SeasonPlan, Session

LEAST_RATING, MOST_RATING = 0.0, 10.0


def session_on(plan: SeasonPlan, day: date) -> Session:
    """Find the session of a day; raises NoAnswerError when the plan does not reach it."""
    for session in plan.sessions:
        if session.on == day:
            return session
    raise NoAnswerError("season", f"{day} is not in the plan", "choose a day of the plan")


def relabel(plan: SeasonPlan, day: date, label: DayLabel) -> SeasonPlan:
    """Label a day by hand; a day of recovery is no longer hard."""
    session = session_on(plan, day)
    hard = session.hard and label is DayLabel.TRAINING
    return _put(plan, replace(session, label=label, hard=hard, by_hand=True))


def hold_loop(plan: SeasonPlan, day: date, loop: str) -> SeasonPlan:
    """Choose the loop of a session by its name; empty takes it away."""
    return _put(plan, replace(session_on(plan, day), loop=loop))


def rate(plan: SeasonPlan, day: date, rating_cr10: float, *, minutes: float) -> SeasonPlan:
    """Take how hard the whole session felt, 0 to 10, and how long it was."""
    if not LEAST_RATING <= rating_cr10 <= MOST_RATING:
        raise NoAnswerError("season", f"rating {rating_cr10:g}", "rate the session from 0 to 10")
    if not 0 <= minutes < 24 * 60:
        raise NoAnswerError("season", f"{minutes:g} minutes", "give the minutes ridden that day")
    return _put(plan, replace(session_on(plan, day), rating_cr10=rating_cr10, minutes=minutes))


def note_laps(
    plan: SeasonPlan, day: date, ridden: RiddenLaps | None, *, minutes: float | None = None
) -> SeasonPlan:
    """Keep which ride a session was and what its laps came to; None takes them away.

    ``minutes`` is how long the ride was, None to leave what stands there.
    """
    session = session_on(plan, day)
    kept = session.minutes if minutes is None else minutes
    return _put(plan, replace(session, ridden=ridden, minutes=kept))


def write_note(plan: SeasonPlan, day: date, note: str) -> SeasonPlan:
    """Keep words for a day."""
    return _put(plan, replace(session_on(plan, day), note=note))


def heavier_bike(plan: SeasonPlan, day: date, *, extra_kg: float, lap_s: float) -> SeasonPlan:
    """Note a heavier-bike day and what it costs: ``lap_s`` more seconds a lap, from pacing."""
    words = f"heavier bike, {extra_kg:+.1f} kg, about {lap_s:+.0f} s a lap"
    before = session_on(plan, day).note
    return write_note(plan, day, f"{before}; {words}" if before else words)


def _put(plan: SeasonPlan, changed: Session) -> SeasonPlan:
    sessions = tuple(changed if s.on == changed.on else s for s in plan.sessions)
    return replace(plan, sessions=sessions)
