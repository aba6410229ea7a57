"""Minutes: how a week's hours are shared out.

Gets hours a week and what is planned; gives minutes for each day. Promises: a week never holds
more minutes than the rider has; the last two weeks before the main race hold less.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from loopwright.model.season import SeasonWishes

LEAST_MIN = 20
MOST_MIN = 240
HARD_MOST_MIN = 90
RECOVERY_MIN = 40
RACE_MIN = 90.0
"""Elite races last 80 to 100 minutes; yours may differ."""
TAPER = ((7, 0.5), (14, 0.75))
"""Share of the hours within so many days of the main race: common practice, no source."""
STEP_MIN = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Week:
    """The days of one calendar week that the plan covers, and what each is."""

    monday: date
    hard: tuple[date, ...]
    easy: tuple[date, ...]
    races: tuple[date, ...]
    recovery: tuple[date, ...]

    @property
    def covered(self) -> float:
        """Share of the seven days that the plan covers."""
        return len(self.hard + self.easy + self.races + self.recovery) / 7


def minutes_of(week: Week, wishes: SeasonWishes, race_day: date) -> Mapping[date, float]:
    """Minutes for every day that gets any; days left out are days of rest."""
    left = wishes.hours_a_week * 60 * _share(week, race_day) * week.covered
    out: dict[date, float] = {}
    for day in week.races:
        out[day] = min(RACE_MIN, max(0.0, wishes.hours_a_week * 60 / len(week.races)))
        left -= out[day]
    days = list(week.hard) + list(week.easy)
    while days and left / len(days) < LEAST_MIN:
        days.pop()
    left -= _hand_out(out, [day for day in days if day in week.hard], days, left, HARD_MOST_MIN)
    easy = [day for day in days if day not in week.hard]
    left -= _hand_out(out, easy, easy, left, MOST_MIN)
    for day in week.recovery[: max(0, int(left // RECOVERY_MIN))][:2]:
        out[day] = float(RECOVERY_MIN)
    return out


def _share(week: Week, race_day: date) -> float:
    to_go = (race_day - week.monday).days
    return next((share for days, share in TAPER if to_go < days), 1.0)


def _hand_out(
    out: dict[date, float], who: list[date], among: list[date], left: float, most: float
) -> float:
    """Give each of ``who`` an even part, rounded down; tell how much went."""
    if not who:
        return 0.0
    each = min(most, left / len(among)) // STEP_MIN * STEP_MIN
    for day in who:
        out[day] = each
    return each * len(who)
