"""``loopwright season``: the weeks to race day."""

from __future__ import annotations

import argparse

from loopwright.cli.common import open_area, table, the_day, the_moment
from loopwright.edits import set_season
from loopwright.errors import UsageError


def run(options: argparse.Namespace) -> int:
    """Plan the season, keep it in the area, print it, write JSON if asked."""
    from loopwright.io.area_file import AreaLock, save_area
    from loopwright.model.season import Race, SeasonWishes

    race_day, today = the_day(options.race, "--race"), the_moment(options.now).date()
    if not 1 <= options.weeks <= 52:
        message = f"--weeks: {options.weeks} is not between 1 and 52"
        raise UsageError(message)
    if race_day <= today:
        message = f"--race: {race_day} is not after today, {today}"
        raise UsageError(message)
    from loopwright.season import plan_season

    wishes = SeasonWishes(races=(Race(name="Race day", on=race_day),), weeks=options.weeks)
    with AreaLock(options.area):
        document = open_area(options.area)
        plan = plan_season(wishes, today, previous=document.season)
        save_area(set_season(document, plan), options.area)
    if options.json:
        from loopwright.io.json_file import write_json
        from loopwright.io.season_json import season_json

        write_json(options.json, season_json(plan))
    if options.json != "-":
        rows = [["day", "", "what", "minutes", "why"]]
        rows += [
            [f"{s.on:%a %d %b}", s.label.value, s.kind, f"{s.minutes:.0f}", s.purpose]
            for s in plan.sessions
        ]
        print(table(rows, left=frozenset({0, 1, 2, 4})))
    return 0
