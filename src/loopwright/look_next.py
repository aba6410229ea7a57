"""Which ground to look at next, and where it might be rough.

Gets an area and wishes; gives the untagged stretches that could change the best loop, and
roughness suggested by how riders slow down. Promises: nothing is set; a person decides.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace
from functools import partial

from loopwright.features.roughness import Suggestion, suggest_roughness
from loopwright.features.supposing import supposing
from loopwright.features.tag_next import Outlook, Supposing, what_to_tag
from loopwright.jobs import Report, Runner, Silent, run_here
from loopwright.model.document import Document
from loopwright.model.ground import GROUND_PREFIX, Terrain
from loopwright.model.ids import StretchId
from loopwright.model.wishes import Mix, Question, Wishes
from loopwright.pipeline import Pipeline

SECONDS = 1.0
"""A search this long proves the optimum on areas of usual size."""


def outlook(
    pipeline: Pipeline,
    document: Document,
    wishes: Wishes,
    report: Report | None = None,
    *,
    run: Runner = run_here,
) -> Outlook:
    """Say how far the best score could rise once untagged ground was looked at, and where.

    ``run`` does the searching; it may do so in another process. A stretch that the start parts is
    named as a whole. Raises NoAnswerError as the search does.
    """
    told = report or Silent()
    terrain, question = pipeline.asked(document, wishes, told)
    found = run(weigh, (terrain, question), told)
    whole = set(pipeline.terrain(document).spans)
    named = (replace(item, stretch=_whole(item.stretch, whole)) for item in found.stretches)
    return replace(found, stretches=tuple({item.stretch: item for item in named}.values()))


def weigh(terrain: Terrain, question: Question, report: Report) -> Outlook:
    """Search with and without untagged ground, one stretch after the other."""
    wishes = question.wishes
    quick = replace(wishes, count=1, seconds=min(wishes.seconds, SECONDS))
    best = partial(best_score, question=replace(question, wishes=quick))
    return what_to_tag(terrain, best=best, suppose=hoped_for(wishes.mix), report=report)


def _whole(stretch: StretchId, known: Collection[StretchId]) -> StretchId:
    """Name the stretch that a half split off by the start came from."""
    return stretch if stretch in known else StretchId(stretch[:-1])


def best_score(terrain: Terrain, *, question: Question) -> float:
    """Score of the best loop, 0 if there is none."""
    from loopwright.loops import find_loops

    loops = find_loops(terrain, question).loops
    return loops[0].score if loops else 0.0


def hoped_for(mix: Mix) -> Supposing:
    """Say what untagged ground would have to be to serve ``mix`` best."""
    grounds = [kind for kind in mix.targets if kind.startswith(GROUND_PREFIX)]
    most = max(grounds, key=lambda kind: (mix.weight(kind), kind), default="")
    surface = most.removeprefix(GROUND_PREFIX)
    smooth = "smooth_m" in mix.targets and not {"rough_m", "rough_descent_m"} & set(mix.targets)
    return partial(
        supposing,
        surface=surface if surface not in ("", "unknown") else None,
        roughness="good" if smooth else "bad",
        width="narrow" if {"narrow_m", "funnels"} & set(mix.targets) else None,
    )


def suggestions(
    pipeline: Pipeline, document: Document, report: Report | None = None
) -> Mapping[StretchId, Suggestion]:
    """Suggest a roughness per stretch from the area's own rides."""
    told = report or Silent()
    return suggest_roughness(pipeline.terrain(document, told), pipeline.clean(document, told))
