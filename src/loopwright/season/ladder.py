"""The ladder: how long one effort is, by days to race day.

Gets days to go; gives minutes of one effort. Promises: never longer as race day nears. Efforts
start long and steady and end short and race-like: 8 minutes down to 2 to 3 in the last two
months. Common practice, no source; the steps between are ours.
"""

from __future__ import annotations

RUNGS = (
    (77, 20.0, 2), (63, 15.0, 3), (56, 12.0, 3), (42, 8.0, 3), (35, 6.0, 4), (28, 5.0, 4),
    (21, 4.0, 5), (14, 3.0, 6), (7, 2.5, 6), (0, 2.0, 5),
)  # fmt: skip
"""From so many days to go on: minutes of one effort, and how many."""
RACE_LIKE_UP_TO_MIN = 8.0
EASY_REST_SHARE = 0.35
FULL_REST_SHARE = 1.2
"""Rest between fast laps: long enough to ride the last as clean as the first (common practice)."""
LEAST_REST_MIN = 2.0


def effort_minutes(days_to_go: int) -> float:
    """Minutes of one effort ``days_to_go`` days before the race; 2 on race day itself."""
    return _rung(days_to_go)[0]


def laps_wanted(days_to_go: int) -> int:
    """Count of efforts ``days_to_go`` days before the race."""
    return _rung(days_to_go)[1]


def _rung(days_to_go: int) -> tuple[float, int]:
    rungs = [(minutes, laps) for days, minutes, laps in RUNGS if days_to_go >= days]
    return rungs[0] if rungs else RUNGS[-1][1:]


def race_like(effort_min: float) -> bool:
    """Tell whether efforts are short enough to be ridden as race-like laps."""
    return effort_min <= RACE_LIKE_UP_TO_MIN


def rest_minutes(effort_min: float) -> float:
    """Minutes of rest after one effort: easy between steady ones, full between fast ones."""
    share = FULL_REST_SHARE if race_like(effort_min) else EASY_REST_SHARE
    return max(LEAST_REST_MIN, round(effort_min * share * 2) / 2)
