"""The words along the bottom: what is known, what is going on, the next sensible step.

Gets a desk, gives plain sentences. Promises: always something to say, never a number without what
it means.
"""

from __future__ import annotations

from loopwright import units
from loopwright.app.desk import Desk
from loopwright.app.lap_rows import summary
from loopwright.app.words import count, say
from loopwright.model.loops import SearchResult
from loopwright.model.season import DayLabel
from loopwright.units import Units

WORKING = {
    "build": "Building the trail network",
    "search": "Searching for loops",
    "import": "Reading recordings",
    "open": "Opening the area",
    "save": "Saving",
    "card": "Drawing the loop card",
    "laps": "Finding laps",
    "course": "Unrolling the loop",
    "plan": "Estimating the lap",
    "by hand": "Leading the loop",
    "weigh": "Trying other lengths",
    "why not": "Searching another way",
}


def known(desk: Desk, look: Units) -> str:
    """Say what the program knows of the ground and the loop in view."""
    if desk.trouble or desk.note:
        return desk.trouble or desk.note
    if desk.terrain is None:
        return _without_ground(desk)
    return _known_here(desk, look)


def _known_here(desk: Desk, look: Units) -> str:
    """Say what belongs to the place."""
    if desk.place == "laps" and desk.ridden.sheet is not None:
        return summary(desk.ridden.sheet)
    if desk.place == "season":
        return _season(desk)
    if desk.place == "ground" or desk.result is None or not desk.result.loops:
        return _ground(desk, look)
    if desk.jobs.busy("search"):
        return say("Best so far: {how}", how=_how_close(desk.result, searching=True))
    return _how_close(desk.result, searching=False)


def _season(desk: Desk) -> str:
    plan = desk.document.season
    if plan is None or not plan.wishes.races:
        return say("No season planned yet: say when the race is and what you can give")
    race = plan.wishes.races[-1]
    sessions = sum(s.label is DayLabel.TRAINING for s in plan.sessions)
    return say("{n} training days up to {race} on {day}", n=sessions, race=race.name,
               day=race.on.strftime("%d %B %Y"))  # fmt: skip


def _without_ground(desk: Desk) -> str:
    if desk.jobs.busy("build"):
        return say("Building the trail network from your rides")
    if desk.document.rides:
        return say("No usable trail in these rides yet")
    return say("Nothing here yet")


def _ground(desk: Desk, look: Units) -> str:
    assert desk.terrain is not None  # noqa: S101 - asked by the caller
    network = desk.terrain.network
    metres = sum(desk.terrain.lengths_m.values())
    known_m = sum(
        span.to_m - span.from_m
        for spans in desk.terrain.spans.values()
        for span in spans
        if span.surface != "unknown"
    )
    return say(
        "{rides} make {stretches} of trail, {length} in all; the ground of {share} is tagged",
        rides=count(len(desk.document.rides), "1 recording", "{n} recordings"),
        stretches=count(len(network.stretches), "1 stretch", "{n} stretches"),
        length=units.distance(metres, look, decimals=1),
        share=units.percent(known_m / max(metres, 1.0)),
    )


def _how_close(result: SearchResult, *, searching: bool) -> str:
    best = result.loops[0]
    match = units.percent(best.match)
    if result.proven:
        return say(
            "The best loop meets {match} of your mix: nothing better exists here", match=match
        )
    gap = max(0.0, result.bound - best.score)
    if searching:
        return say(
            "meets {match} of your mix; at most {gap} points better may exist",
            match=match, gap=f"{gap:.1f}",
        )  # fmt: skip
    return say(
        "The best loop found meets {match} of your mix; one up to {gap} points better may exist",
        match=match, gap=f"{gap:.1f}",
    )  # fmt: skip


def doing(desk: Desk) -> tuple[str, float] | None:
    """Say what is going on and how far it is; None when at rest or too short to tell."""
    progress = desk.jobs.to_show()
    if progress is None:
        return None
    words = say(WORKING.get(progress.kind, "Working"))
    if progress.words:
        words = f"{words}: {progress.words}"
    return words, progress.share


Step = tuple[str, str]


def next_step(desk: Desk) -> Step:
    """Give the next sensible step in words and the id of the action that does it."""
    if not desk.document.rides:
        return say("Import your recorded rides"), "import"
    if desk.terrain is None:
        return ("", "") if desk.jobs.busy("build") else (say("Import more rides"), "import")
    return _step_here(desk) or _step_with_loops(desk)


def _step_here(desk: Desk) -> Step | None:
    """Give the step that belongs to the place, if it has one."""
    sheet = desk.ridden.sheet
    if desk.place == "ground":
        return say("Choose what to tag next"), "next_untagged"
    if desk.place == "laps" and sheet is not None and sheet.best_s is None:
        return say("Keep the circuit this ride repeats"), "keep_circuit"
    if desk.place == "season":
        planned = desk.document.season is not None
        step = (say("Find a loop for the session"), "session_loop")
        return step if planned else (say("Plan the season"), "plan_season")
    return None


def _step_with_loops(desk: Desk) -> Step:
    if not desk.candidates:
        return ("", "") if desk.jobs.busy("search") else (say("Widen the lap window"), "loops")
    if desk.shown is None:
        return "", ""
    if not desk.is_kept(desk.shown) and not desk.document.kept:
        return say("Keep this loop under a name"), "keep"
    return say("Make the loop card"), "card"


def area_words(desk: Desk) -> str:
    """Name the open area, marked when it holds something unsaved or is invented."""
    name = desk.document.name
    if desk.document.settings.invented and "invented" not in name.lower():
        name = say("{name} (invented)", name=name)
    return say("{name}, not saved", name=name) if desk.workspace.dirty else name


def selected_words(desk: Desk) -> str:
    """Say how many stretches are chosen."""
    return count(len(desk.selection), "{n} stretch chosen", "{n} stretches chosen")
