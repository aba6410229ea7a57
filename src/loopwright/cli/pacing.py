"""``loopwright pace``: what a lap asks of this rider, section by section."""

from __future__ import annotations

import argparse
import math
from typing import TYPE_CHECKING

from loopwright.cli.common import Progress, named_loop, open_area, pipeline_with_cache, table
from loopwright.errors import UsageError
from loopwright.units import Units

if TYPE_CHECKING:
    from loopwright.model.rider import LapPlan

MOST_LAPS, MOST_KG = 100, 50.0


def run(options: argparse.Namespace) -> int:
    """Plan the lap, print what it asks, write JSON if asked."""
    check(options)
    document, pipeline, progress = open_area(options.area), pipeline_with_cache(), Progress()
    loop = named_loop(document, options.loop)
    progress.step(0.2, "fitting to the rides")
    course = pipeline.course(document, loop)
    plan = pipeline.plan(document, course, laps=options.laps)
    frame_s = pipeline.what_if(document, course, bike_kg=options.bike_kg)
    wheel_s = pipeline.what_if(document, course, wheel_kg=options.wheel_kg)
    progress.done()
    if options.json:
        from loopwright.io.json_file import write_json
        from loopwright.io.plan_json import plan_json

        costs = {
            "bike_kg": options.bike_kg, "bike_s": frame_s,
            "wheel_kg": options.wheel_kg, "wheel_s": wheel_s,
        }  # fmt: skip
        write_json(options.json, plan_json(plan, loop=loop.name, costs=costs))
    if options.json != "-":
        from loopwright.targets_told import cost_words

        words = cost_words(options.bike_kg, frame_s, options.wheel_kg, wheel_s)
        print(described(plan, words, Units(options.units)))
    return 0


def check(options: argparse.Namespace) -> None:
    """Refuse numbers that make no sense; raises UsageError."""
    if not 1 <= options.laps <= MOST_LAPS:
        message = f"--laps: {options.laps} is not between 1 and {MOST_LAPS}"
        raise UsageError(message)
    for name in ("bike_kg", "wheel_kg"):
        value = getattr(options, name)
        if not math.isfinite(value) or abs(value) > MOST_KG:
            message = f"--{name.replace('_', '-')}: {value:g} is not within {MOST_KG:g} kg"
            raise UsageError(message)


def described(plan: LapPlan, costs: str, units: Units) -> str:
    """Lay out the plan: the lap, every section, then what each kind of feature asks."""
    from loopwright import targets_told as told

    parts = [told.lap_words(plan), told.balance_words(plan)]
    for heads, rows, left in (
        (told.SPLIT_HEADS, told.split_rows(plan, units), {0}),
        (told.CLIMB_HEADS, told.climb_rows(plan), {0, 5}),
        (told.CORNER_HEADS, told.corner_rows(plan, units), {0}),
        (told.STRAIGHT_HEADS, told.straight_rows(plan, units), {0}),
    ):
        if rows:
            parts.append(table([list(heads), *rows], left=frozenset(left)) + "\n")
    parts += [costs, told.EFFORT_SCALE, plan.basis]
    return "\n".join(part for part in parts if part)
