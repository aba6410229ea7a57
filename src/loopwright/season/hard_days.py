"""Which training days are hard.

Gets the training days of a season, the hard days already ridden and the rider's limit; gives the
hard ones to come. Promises: never more in a row than the rider allows, what was ridden counted;
none on the day before or after a race.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, timedelta

from loopwright.model.season import SeasonWishes

DAY = timedelta(days=1)
BLOCK_CYCLE_WEEKS = 4
BLOCK_HARD = 5
BETWEEN_HARD = 1
EVEN_HARD = 2


def hard_days(
    wishes: SeasonWishes,
    training: Sequence[date],
    races: Iterable[date],
    *,
    ridden: Iterable[date] = (),
) -> frozenset[date]:
    """Choose the hard days among ``training`` (rising), race days left out of it.

    ``ridden`` are the hard days that lie behind; they are not given again.
    """
    race_days, behind = frozenset(races), frozenset(ridden)
    chosen: set[date] = set(behind)
    for monday, days in _weeks(training):
        wanted = _wanted(wishes, monday, len(days), training[-1])
        left = wanted - sum(monday_of(day) == monday for day in behind)
        for day in _spread(days, wanted):
            if left > 0 and _allowed(day, chosen, race_days, wishes.hard_days_in_a_row):
                chosen.add(day)
                left -= 1
    return frozenset(chosen) - behind


def _weeks(days: Sequence[date]) -> list[tuple[date, list[date]]]:
    weeks: dict[date, list[date]] = {}
    for day in days:
        weeks.setdefault(monday_of(day), []).append(day)
    return sorted(weeks.items())


def monday_of(day: date) -> date:
    """Give the Monday of the week of ``day``."""
    return day - day.weekday() * DAY


def _wanted(wishes: SeasonWishes, monday: date, days: int, last: date) -> int:
    """How many hard days a week is to have; even weeks leave at least half the days easy."""
    if monday_of(last) == monday:
        return min(days, BETWEEN_HARD)
    if wishes.weeks_style == "blocked":
        to_go = (monday_of(last) - monday).days // 7
        block = to_go % BLOCK_CYCLE_WEEKS == BLOCK_CYCLE_WEEKS - 1
        return min(days, BLOCK_HARD) if block else min(days, BETWEEN_HARD)
    return min(EVEN_HARD, (days + 1) // 2)


def _spread(days: list[date], wanted: int) -> list[date]:
    """Put the days of a week in the order to try them: the ``wanted`` most even ones first.

    ``wanted`` is at least 1.
    """
    step = len(days) / wanted
    even = [days[int(k * step)] for k in range(wanted)]
    return even + [day for day in days if day not in even]


def _allowed(day: date, chosen: set[date], races: frozenset[date], in_a_row: int) -> bool:
    if day in races or day - DAY in races or day + DAY in races:
        return False
    run = 1
    for step in (-DAY, DAY):
        near = day + step
        while near in chosen or near in races:
            run += 1
            near += step
    return run <= in_a_row
