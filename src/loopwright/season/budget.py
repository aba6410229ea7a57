"""Minutes: how a week's hours are shared out.

Gets hours a week, what is planned and what was ridden; gives minutes for each day. Promises: a
week never gets more minutes than the rider has left; the last two weeks before the main race hold
less.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from loopwright.model.season import SeasonWishes

LEAST_MIN = 20
MOST_MIN = 240
HARD_MOST_MIN = 90
DRILL_MOST_MIN = 75
RECOVERY_MIN = 40
RECOVERY_FROM_MIN = 300
"""Weeks of at least so many minutes keep some for one easy spin."""
RACE_MIN = 90.0
"""Elite races last 80 to 100 minutes; yours may differ."""
TAPER = ((7, 0.5), (14, 0.75))
"""Share of the hours within so many days of the main race: common practice, no source."""
STEP_MIN = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Week:
    """The days of one calendar week that the plan covers, and what each is.

    ``ridden_min`` are the minutes of days of this week that lie behind.
    """

    monday: date
    hard: tuple[date, ...]
    easy: tuple[date, ...]
    races: tuple[date, ...]
    recovery: tuple[date, ...]
    ridden_min: float = 0.0

    @property
    def long(self) -> tuple[date, ...]:
        """The day for the long ride: the week's last easy one, if there are two or no hard one."""
        return self.easy[-1:] if len(self.easy) > 1 or not self.hard else ()

    @property
    def covered(self) -> float:
        """Share of the seven days that the plan covers."""
        return len(self.hard + self.easy + self.races + self.recovery) / 7


def minutes_of(week: Week, wishes: SeasonWishes, race_day: date) -> Mapping[date, float]:
    """Minutes for every day that gets any; days left out are days of rest."""
    whole = wishes.hours_a_week * 60
    spare = max(0.0, whole - week.ridden_min)
    left = min(spare, whole * _share(week, race_day) * week.covered)
    out: dict[date, float] = {}
    for day in week.races:
        out[day] = min(RACE_MIN, spare / len(week.races))
        left -= out[day]
    days = list(week.hard) + list(week.easy)
    while days and left / len(days) < LEAST_MIN:
        days.pop()
    spin = _spin_day(week) if left >= RECOVERY_FROM_MIN else None
    if spin:
        out[spin] = float(RECOVERY_MIN)
        left -= RECOVERY_MIN
    hard, easy = ([day for day in days if day in kind] for kind in (week.hard, week.easy))
    left -= _hand_out(out, hard, len(days), left, HARD_MOST_MIN)
    short = [day for day in easy if day not in week.long]
    left -= _hand_out(out, short, len(easy), left, DRILL_MOST_MIN)
    _hand_out(out, [day for day in easy if day in week.long], 1, left, MOST_MIN)
    return out


def _spin_day(week: Week) -> date | None:
    """Choose the recovery day for the easy spin: one after a hard day if there is one."""
    after = [day for day in week.recovery if day - timedelta(days=1) in week.hard]
    return next(iter(after or week.recovery), None)


def _share(week: Week, race_day: date) -> float:
    to_go = (race_day - week.monday).days
    return next((share for days, share in TAPER if to_go < days), 1.0)


def _hand_out(
    out: dict[date, float], who: list[date], among: int, left: float, most: float
) -> float:
    """Give each of ``who`` an even part, rounded down; tell how much went."""
    if not who:
        return 0.0
    each = min(most, left / among) // STEP_MIN * STEP_MIN
    for day in who:
        out[day] = each
    return each * len(who)
