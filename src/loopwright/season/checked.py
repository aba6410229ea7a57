"""Whether a season can be planned at all.

Gets wishes and today; gives the first day. Promises: what is out of range is told in one
sentence.
"""

from __future__ import annotations

from datetime import date, timedelta

from loopwright.errors import NoAnswerError
from loopwright.model.season import SeasonWishes

STYLES = ("even", "blocked")
MOST_WEEKS = 104
WEEK_HOURS = 168.0


def checked(wishes: SeasonWishes, today: date) -> date:
    """Give the first day of the plan; raises NoAnswerError when there can be none."""
    _in_range(wishes)
    races = [race.on for race in wishes.races if race.on >= today]
    if not races:
        raise NoAnswerError("season", "no race from today on", "enter the date of a race to come")
    last = max(races)
    if (last - today).days > 7 * MOST_WEEKS:
        raise NoAnswerError("season", f"the race is more than {MOST_WEEKS} weeks away",
                            "check its date")  # fmt: skip
    return max(today, last - timedelta(days=7 * wishes.weeks - 1))


def _in_range(wishes: SeasonWishes) -> None:
    wrong = (
        (not 1 <= wishes.weeks <= MOST_WEEKS, f"{wishes.weeks} weeks",
         f"give 1 to {MOST_WEEKS} weeks"),
        (any(not 0 <= day <= 6 for day in wishes.training_days), "a training day is no weekday",
         "use 0 for Monday to 6 for Sunday"),
        (not 0 < wishes.hours_a_week <= WEEK_HOURS, f"{wishes.hours_a_week:g} hours a week",
         f"give more than 0 and at most {WEEK_HOURS:g} hours"),
        (wishes.hard_days_in_a_row < 0, f"{wishes.hard_days_in_a_row} hard days in a row",
         "give 0 or more"),
        (wishes.weeks_style not in STYLES, f"weeks style {wishes.weeks_style!r}",
         f"choose {' or '.join(STYLES)}"),
    )  # fmt: skip
    for bad, what, remedy in wrong:
        if bad:
            raise NoAnswerError("season", what, remedy)
