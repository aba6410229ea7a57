"""Fill a loop card from a document: what the card room lays out.

Gets a document and one of its loops, gives the card's input. Promises: whatever lies inside the
private circle is hidden; invented ground says so.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from datetime import date

import numpy as np

from loopwright.card.sheet import Ask, CardInput, Density, SessionWords
from loopwright.card.words import date_words
from loopwright.errors import WorldError
from loopwright.geo.ascent import LEAST_RISE_M
from loopwright.geo.frame import to_local
from loopwright.model.arrays import Floats
from loopwright.model.course import Course
from loopwright.model.document import Document, PrivateCircle
from loopwright.model.ground import SURFACES
from loopwright.model.loops import SavedLoop
from loopwright.model.rider import LapPlan
from loopwright.model.season import Session
from loopwright.pipeline import Pipeline
from loopwright.reporting import LoopFacts, facts_of
from loopwright.units import Units, small


def card_input(
    pipeline: Pipeline,
    document: Document,
    loop: SavedLoop,
    *,
    on: date | None = None,
    units: Units = Units.METRIC,
    session: Session | None = None,
) -> CardInput:
    """Gather everything the card of one loop says."""
    from loopwright.features.as_one import sharper

    course = pipeline.course(document, loop)
    facts = facts_of(pipeline, document, loop)
    private = document.settings.private
    return CardInput(
        course=course,
        name=loop.name,
        plan=_plan(pipeline, document, course, session),
        inside={one.number: sharper(one) for one in course.features},
        area=document.name,
        invented=document.settings.invented,
        match=loop.match or None,  # a ridden circuit answers to no mix
        mix_name=loop.wishes.mix.name,
        asks=_asks(loop, facts),
        session=None if session is None else session_words(session),
        background=background(pipeline, document, loop),
        ground_m=ground_of(course),
        densities=tuple(Density(kind=k, per_km=v) for k, v in facts.density_by_kind.items()),
        inside_share=facts.inside_share,
        ascent_scale=f"rises of {small(LEAST_RISE_M, units)}",
        ground_state=ground_state(document),
        on=on,
        attributions=document.settings.attributions,
        units=units,
        start=(float(loop.line[0, 1]), float(loop.line[0, 0])),
        private=None if private is None else circle_at(course, private),
    )


def session_words(session: Session) -> SessionWords:
    """Say what the card prints of a session."""
    return SessionWords(
        label=session.label,
        kind=session.kind,
        laps=session.laps,
        rest_minutes=session.rest_minutes,
        purpose=session.purpose,
    )


def _plan(
    pipeline: Pipeline, document: Document, course: Course, session: Session | None
) -> LapPlan | None:
    try:
        return pipeline.plan(document, course, laps=max(session.laps, 1) if session else 1)
    except WorldError:
        return None


def _asks(loop: SavedLoop, facts: LoopFacts) -> tuple[Ask, ...]:
    targets = loop.wishes.mix.targets
    return tuple(
        Ask(kind=kind, wanted=wanted, given=facts.judged.amounts.get(kind, 0.0))
        for kind, wanted in targets.items()
    )


def background(pipeline: Pipeline, document: Document, loop: SavedLoop) -> tuple[Floats, ...]:
    """Lines of the stretches the loop does not use, outside the private circle."""
    terrain = pipeline.terrain(document)
    used = {stretch for stretch, _ in pipeline.arcs(document, loop)[0]}
    lines = [s.xy for s in terrain.network.stretches if s.id not in used]
    private = document.settings.private
    if private is None:
        return tuple(lines)
    centre = to_local(terrain.network.origin, np.array([private.lat]), np.array([private.lon]))
    far = [line[np.hypot(*(line - centre).T) > private.radius_m] for line in lines]
    return tuple(line for line in far if len(line) > 1)


def circle_at(course: Course, private: PrivateCircle) -> tuple[float, float, float]:
    """Give the private circle in the course's frame: metres east, north, radius."""
    centre = to_local(course.origin, np.array([private.lat]), np.array([private.lon]))[0]
    return float(centre[0]), float(centre[1]), private.radius_m


def ground_of(course: Course) -> Mapping[str, float]:
    """Metres of the lap on each surface, most first."""
    metres: defaultdict[str, float] = defaultdict(float)
    for code, step in zip(course.surface[:-1], np.diff(course.dist_m), strict=True):
        metres[SURFACES[int(code)]] += float(step)
    return dict(sorted(metres.items(), key=lambda item: -item[1]))


def ground_state(document: Document) -> str:
    """Say how old the words about the ground are, and for which day they were read."""
    plan_for = document.settings.plan_for
    days = [tag.on for tag in document.tags if tag.on and not (plan_for and tag.on > plan_for)]
    if days:
        words = f"tags of {date_words(max(days))}"
        return f"{words}, planned for {date_words(plan_for)}" if plan_for else words
    return "undated tags" if document.tags else "no words about the ground yet"
