"""``loopwright find``: the best loops under a person's wishes."""

from __future__ import annotations

import argparse
import math
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from loopwright.card.words import date_words
from loopwright.cli.common import Progress, open_area, pipeline_with_cache, table, the_day
from loopwright.edits import set_found, set_settings, set_wishes
from loopwright.errors import NoAnswerError, UsageError
from loopwright.geo.ascent import LEAST_RISE_M
from loopwright.units import percent

if TYPE_CHECKING:
    from loopwright.model.document import Document
    from loopwright.model.loops import SearchResult
    from loopwright.model.wishes import Mix, Wishes
    from loopwright.pipeline import Pipeline
    from loopwright.reporting import LoopFacts


def run(options: argparse.Namespace) -> int:
    """Search, print the table, keep the loops in the area, write JSON if asked."""
    if options.mix == "list":
        return list_mixes()
    if options.area is None:
        message = "loopwright find: name an area, or --mix list"
        raise UsageError(message)
    from loopwright.io.area_file import AreaLock, save_area
    from loopwright.loops.warm import warm_up
    from loopwright.reporting import facts_of

    pipeline, progress = pipeline_with_cache(), Progress()
    with AreaLock(options.area):
        document = planned(open_area(options.area), options.plan_for)
        wishes = read_wishes(options, document, pipeline)
        progress.step(0.0, "compiling the search (once, up to a minute)")
        # Here only the last answer is told, so the time asked for is time to search.
        warm_up()
        result, loops = pipeline.search(document, wishes, progress)
        progress.done()
        if loops:
            document = set_found(set_wishes(document, wishes), loops)
            save_area(document, options.area)
    facts = [facts_of(pipeline, document, loop) for loop in loops]
    if options.json:
        write_answer(options, document, wishes, result, facts)
    if not loops:
        raise NoAnswerError(str(options.area), *_why_none(wishes, result))
    if options.json != "-":
        print(described(result, facts))
        if document.settings.plan_for is not None:
            print(f"\nGround as on {date_words(document.settings.plan_for)}.")
    return 0


def planned(document: Document, words: str | None) -> Document:
    """Plan for the ground of a day, or for the newest words; None leaves what was chosen."""
    if words is None:
        return document
    plan_for = None if words == "newest" else the_day(words, "--plan-for")
    return set_settings(document, replace(document.settings, plan_for=plan_for))


def write_answer(
    options: argparse.Namespace,
    document: Document,
    wishes: Wishes,
    result: SearchResult,
    facts: list[LoopFacts],
) -> None:
    """Write the answer as JSON; where ``--now`` stops the clock, no time passes."""
    from loopwright.io.json_file import write_json
    from loopwright.io.loops_json import loops_json

    told = replace(result, seconds=0.0) if options.now else result
    entries = [fact.entry() for fact in facts]
    settings = document.settings
    value = loops_json(
        told,
        entries,
        wishes,
        plan_for=settings.plan_for,
        private=settings.private,
        attributions=settings.attributions,
    )
    write_json(options.json, value)


def _why_none(wishes: Wishes, result: SearchResult) -> tuple[str, str]:
    window = f"{wishes.min_length_m / 1000:g} to {wishes.max_length_m / 1000:g} km"
    if wishes.lap_s is not None:
        window = f"{wishes.lap_s[0] / 60:g} to {wishes.lap_s[1] / 60:g} minutes"
    if result.proven:
        words = f"no loop of {window} exists on this network under these wishes"
        return words, "widen the lap window or wish for less"
    return f"no loop of {window} was found in the time given", "give more time with --seconds"


def list_mixes() -> int:
    """Print the built-in mixes, one a line with its targets."""
    from loopwright.loops.mixes import built_in_mixes

    for mix in built_in_mixes():
        targets = ", ".join(f"{kind} {amount:g}" for kind, amount in mix.targets.items())
        print(f"{mix.name}: {targets}")
    return 0


def read_wishes(options: argparse.Namespace, document: Document, pipeline: Pipeline) -> Wishes:
    """Turn the options into wishes; raises UsageError in one sentence."""
    from loopwright.model.wishes import Wishes

    shortest, longest = window(options.length, "--length", "km", 1000.0)
    lap_s = window(options.minutes, "--minutes", "minutes", 60.0) if options.minutes else None
    if options.count < 1 or not options.seconds > 0 or options.repeats < 0:
        message = "loopwright find: --count and --seconds must be above 0, --repeats not below 0"
        raise UsageError(message)
    return Wishes(
        mix=read_mix(options.mix, document, pipeline, longest_m=longest),
        min_length_m=shortest,
        max_length_m=longest,
        start=point(options.start) if options.start else None,
        count=options.count,
        seconds=options.seconds,
        repeats=options.repeats,
        use_unridden=options.unridden,
        lap_s=lap_s,
        head_on_m=max(0.0, options.apart),
    )


def window(text: str, option: str, unit: str, size: float) -> tuple[float, float]:
    """Read a window such as ``3-5`` in a unit of ``size`` metres or seconds."""
    try:
        low, high = (float(part) * size for part in text.split("-"))
    except ValueError:
        low, high = math.nan, math.nan
    if not 0 < low <= high < math.inf:
        message = f"{option}: {text!r} is no lap window; write it in {unit} as 3-5"
        raise UsageError(message)
    return low, high


def point(text: str) -> tuple[float, float]:
    """Read ``LAT,LON`` in degrees."""
    try:
        lat, lon = (float(part) for part in text.split(","))
    except ValueError:
        lat, lon = math.nan, math.nan
    if not (-90 <= lat <= 90 and -180 <= lon <= 180):
        message = f"--start: {text!r} is no place; write it in degrees as LAT,LON"
        raise UsageError(message)
    return lat, lon


def read_mix(wanted: str, document: Document, pipeline: Pipeline, *, longest_m: float) -> Mix:
    """Find a mix: by name (the area's own first), in a JSON file, or from a recorded race lap."""
    from loopwright.loops.mixes import built_in_mixes, for_lap

    for mix in document.mixes:
        if mix.name == wanted:
            return mix
    for mix in built_in_mixes():
        if mix.name == wanted:
            return for_lap(mix, longest_m)
    from loopwright.io.tracks import TRACK_SUFFIXES

    path = Path(wanted)
    if path.suffix.lower() in TRACK_SUFFIXES:
        return _race_mix(path, document, pipeline, longest_m)
    if path.suffix.lower() == ".json" or path.exists():
        from loopwright.io.mix_file import read_mix as read_file

        return read_file(path)
    message = f"--mix: no mix is called {wanted!r}; see loopwright find --mix list"
    raise UsageError(message)


def _race_mix(path: Path, document: Document, pipeline: Pipeline, longest_m: float) -> Mix:
    from loopwright.demands import race_mix
    from loopwright.io.tracks import read_tracks, ride_id
    from loopwright.model.track import Ride, RideRole

    track = max(read_tracks(path), key=len)
    ride = Ride(id=ride_id(track), track=track, role=RideRole.RACE)
    return race_mix(pipeline, document, ride, longest_m=longest_m)


def side_by_side(mix: Mix, fact: LoopFacts) -> str:
    """Lay out what the mix asks and what the best loop gives."""
    rows = [["wanted", "asks", "loop 1 gives", "met"]]
    for kind, asked in mix.targets.items():
        given = fact.judged.amounts.get(kind, 0.0)
        rows.append([kind, f"{asked:g}", f"{given:.0f}", percent(min(1.0, given / asked))])
    return table(rows)


def described(result: SearchResult, facts: list[LoopFacts]) -> str:
    """Say in a table what was found, and how close it is to the best possible."""
    rows = [["loop", "score", "match", "km", "climb m", "per km", "inside", "lap"]]
    rows += [fact.row() for fact in facts]
    best = facts[0].loop.score
    closing = (
        "No loop on this network under these wishes scores higher than loop 1."
        if result.proven
        else f"No loop can score above {result.bound:.2f}; loop 1 has {best:.2f}. "
        "More time may help."
    )
    closing += f" Climb counts rises of {LEAST_RISE_M:g} m or more."
    asked = side_by_side(facts[0].loop.wishes.mix, facts[0])
    return f"{table(rows, left=frozenset())}\n{closing}\n\n{asked}"
