"""The season as a calendar file (RFC 5545).

Gets a SeasonPlan; gives the bytes of an ``.ics``: one all-day entry a training or recovery
session and one a race. Promises: a day keeps its identifier whatever is planned on it, and a race
day whatever the race is called, so that importing it again replaces entries; a later export has a
later revision (SEQUENCE); the only clock is the one passed in.
"""

from __future__ import annotations

import hashlib
from collections import Counter
from datetime import UTC, datetime, timedelta

from icalendar import Calendar, Event

from loopwright.io.plain import plain
from loopwright.model.season import DayLabel, Race, SeasonPlan, Session

PRODUCT = "-//Loopwright//Season//EN"
REVISIONS_FROM = datetime(2020, 1, 1, tzinfo=UTC)
"""Revisions count minutes from here: they rise with every export and need no memory."""
CAUTION = (
    "Check that the trail is open and legal, walk it first, ride within your ability. "
    "Estimates, not promises: qualified coaches and doctors decide."
)


def season_calendar(plan: SeasonPlan, *, name: str, now: datetime) -> bytes:
    """Return the calendar of a season.

    ``name`` is the calendar's and keeps seasons apart; ``now`` stamps the entries and is taken as
    UTC when it has no zone. Days still open (neither training nor recovery) are left out.
    """
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("method", "PUBLISH")
    calendar.add("x-wr-calname", plain(name))
    stamp = (now if now.tzinfo else now.replace(tzinfo=UTC)).astimezone(UTC)
    seen: Counter[str] = Counter()
    race_days = {race.on for race in plan.wishes.races}
    for session in plan.sessions:
        if session.label is not DayLabel.OPEN and session.on not in race_days:
            calendar.add_component(_session(session, name, stamp, seen))
    for race in plan.wishes.races:
        calendar.add_component(_race(race, name, stamp, seen))
    return bytes(calendar.to_ical())


def _session(session: Session, name: str, stamp: datetime, seen: Counter[str]) -> Event:
    event = _event(f"{name}|{session.on.isoformat()}|session", stamp, seen)
    event.add("dtstart", session.on)
    event.add("dtend", session.on + timedelta(days=1))
    label, kind = session.label.value.capitalize(), plain(session.kind)
    event.add("summary", f"{label}: {kind}" if kind else label)
    event.add("description", "\n".join(_words(session)))
    event.add("categories", [session.label.value])
    event.add("transp", "TRANSPARENT")
    return event


def _words(session: Session) -> list[str]:
    lines = [plain(session.purpose)]
    if session.minutes > 0:
        lines.append(f"{session.minutes:.0f} min in all")
    if session.effort_minutes > 0:
        lines.append(f"efforts of {session.effort_minutes:g} min")
    if session.laps > 0:
        lines.append(f"{session.laps} laps, rest {session.rest_minutes:g} min between")
    if session.loop:
        lines.append(f"Loop: {plain(session.loop)}")
    if session.ridden is not None and session.ridden.laps:
        lines.append(f"Ridden: {session.ridden.laps} laps of {plain(session.ridden.loop)}")
    if session.note:
        lines.append(plain(session.note))
    return [*lines, CAUTION]


def _race(race: Race, name: str, stamp: datetime, seen: Counter[str]) -> Event:
    event = _event(f"{name}|{race.on.isoformat()}|race", stamp, seen)
    event.add("dtstart", race.on)
    event.add("dtend", race.on + timedelta(days=1))
    event.add("summary", plain(f"Race: {race.name}"))
    event.add("categories", ["race"])
    return event


def _event(key: str, stamp: datetime, seen: Counter[str]) -> Event:
    """Start an entry; a key met before gets a number, so that no two share an identifier."""
    seen[key] += 1
    words = key if seen[key] == 1 else f"{key}|{seen[key]}"
    event = Event()
    event.add("uid", f"{hashlib.sha256(words.encode()).hexdigest()[:32]}@loopwright.invalid")
    event.add("dtstamp", stamp)
    event.add("last-modified", stamp)
    event.add("sequence", max(0, int((stamp - REVISIONS_FROM).total_seconds() // 60)))
    return event
