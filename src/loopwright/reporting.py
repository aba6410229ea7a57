"""What is told of a loop in tables, JSON and on the card: density, share inside, lap time.

Gets a document and one of its loops, gives numbers. Promises: only what the rooms computed.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from loopwright.errors import WorldError
from loopwright.io.loops_json import LoopEntry
from loopwright.jobs import Report
from loopwright.model.arrays import Floats
from loopwright.model.course import Course, CourseFeature
from loopwright.model.document import Document
from loopwright.model.ground import FeatureKind
from loopwright.model.loops import FoundLoop, SavedLoop
from loopwright.model.rider import LapPlan
from loopwright.model.wishes import Mix
from loopwright.pipeline import QUIET, Pipeline
from loopwright.units import duration, percent

WANTS: Mapping[str, FeatureKind] = {
    "climb_gain_m": FeatureKind.CLIMB,
    "steep_gain_m": FeatureKind.STEEP_CLIMB,
    "corners": FeatureKind.CORNER,
    "tight_corners": FeatureKind.CORNER,
    "descent_m": FeatureKind.DESCENT,
    "rough_descent_m": FeatureKind.ROUGH_DESCENT,
    "straights": FeatureKind.STRAIGHT,
    "steady_m": FeatureKind.STEADY,
    "funnels": FeatureKind.FUNNEL,
}
"""Which feature kind answers which amount of a mix."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LoopFacts:
    """One loop with everything told of it. ``geometry`` is ``(n, 3)`` lon, lat, height."""

    loop: SavedLoop
    judged: FoundLoop
    length_m: float
    ascent_m: float
    density_per_km: float
    density_by_kind: Mapping[str, float]
    inside_share: float
    repeated_m: float
    lap_time_s: float | None
    geometry: Floats

    def row(self) -> list[str]:
        """Give the loop's row of the table that the find command prints."""
        return [
            str(self.loop.rank or self.loop.name),
            f"{self.loop.score:.2f}",
            percent(self.loop.match),
            f"{self.length_m / 1000:.2f}",
            f"{self.ascent_m:.0f}",
            f"{self.density_per_km:.1f}",
            percent(self.inside_share),
            "" if self.lap_time_s is None else duration(self.lap_time_s),
        ]

    def entry(self) -> LoopEntry:
        """Give the loop's entry in the JSON answer."""
        return LoopEntry(
            found=self.judged,
            name=self.loop.name,
            line=self.geometry,
            density_per_km=self.density_per_km,
            inside_share=self.inside_share,
            lap_time_s=self.lap_time_s,
            density_by_kind=self.density_by_kind,
        )


def facts_of(
    pipeline: Pipeline, document: Document, loop: SavedLoop, report: Report = QUIET
) -> LoopFacts:
    """Gather what is told of one loop on today's network; ``report`` may stop it."""
    course = pipeline.course(document, loop, report)
    judged = replace(
        judge(pipeline, document, loop), rank=loop.rank or 0, score=loop.score, match=loop.match
    )
    wanted = wanted_features(course, loop.wishes.mix)
    km = course.length_m / 1000
    kinds = sorted({feature.kind.value for feature in wanted})
    return LoopFacts(
        loop=loop,
        judged=judged,
        length_m=course.length_m,
        ascent_m=course.ascent_m,
        density_per_km=len(wanted) / km,
        density_by_kind={k: sum(f.kind.value == k for f in wanted) / km for k in kinds},
        inside_share=share_inside(course, wanted),
        repeated_m=_repeated_m(pipeline, document, judged),
        lap_time_s=_lap_time(pipeline, document, course),
        geometry=loop.line,
    )


def judge(pipeline: Pipeline, document: Document, loop: SavedLoop) -> FoundLoop:
    """Score a kept loop again on today's network."""
    from loopwright.loops import score_loop

    arcs, _ = pipeline.arcs(document, loop)
    wishes = loop.wishes
    return score_loop(
        pipeline.terrain(document), wishes.mix, max_length_m=wishes.max_length_m, arcs=arcs
    )


def wanted_features(course: Course, mix: Mix) -> tuple[CourseFeature, ...]:
    """Pick the features of a lap that the mix asks for."""
    kinds = {WANTS[kind] for kind in mix.targets if kind in WANTS}
    return tuple(feature for feature in course.found if feature.kind in kinds)


def share_inside(course: Course, wanted: Iterable[CourseFeature]) -> float:
    """Give the share of the lap that lies inside at least one wanted feature, 0 to 1."""
    covered, reach = 0.0, 0.0
    for feature in sorted(wanted, key=lambda f: f.from_m):
        covered += max(0.0, feature.to_m - max(feature.from_m, reach))
        reach = max(reach, feature.to_m)
    return min(1.0, covered / course.length_m)


def _repeated_m(pipeline: Pipeline, document: Document, loop: FoundLoop) -> float:
    from loopwright.loops.score import repeated_m

    return repeated_m(pipeline.terrain(document), loop.arcs)


def _lap_time(pipeline: Pipeline, document: Document, course: Course) -> float | None:
    try:
        plan: LapPlan = pipeline.plan(document, course)
    except WorldError:
        return None
    return plan.lap_time_s
