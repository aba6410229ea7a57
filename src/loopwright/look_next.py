"""Which ground to look at next, and where it might be rough.

Gets an area and wishes; gives the untagged stretches that could change the best loop, and
roughness suggested by how riders slow down. Promises: nothing is set; a person decides.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import replace
from functools import partial
from typing import TypeAlias

from loopwright.features.roughness import Suggestion, suggest_roughness
from loopwright.features.supposing import supposing
from loopwright.features.tag_next import Outlook, Supposing, what_to_tag
from loopwright.jobs import Report, Silent
from loopwright.model.document import Document
from loopwright.model.ground import GROUND_PREFIX, Terrain
from loopwright.model.ids import StretchId
from loopwright.model.loops import SearchResult
from loopwright.model.wishes import Mix, Question, Wishes
from loopwright.pipeline import Pipeline

Find: TypeAlias = Callable[[Terrain, Question], SearchResult]
SECONDS = 1.0
"""A search this long proves the optimum on areas of usual size."""


def outlook(
    pipeline: Pipeline,
    document: Document,
    wishes: Wishes,
    report: Report | None = None,
    *,
    find: Find | None = None,
) -> Outlook:
    """Say how far the best score could rise once untagged ground was looked at, and where.

    ``find`` searches, in this process unless told otherwise. A stretch that the start parts is
    named as a whole. Raises NoAnswerError as the search does.
    """
    told = report or Silent()
    terrain, question = pipeline.asked(document, wishes, told)
    quick = replace(wishes, count=1, seconds=min(wishes.seconds, SECONDS))
    best = partial(best_score, question=replace(question, wishes=quick), find=find)
    found = what_to_tag(terrain, best=best, suppose=hoped_for(wishes.mix), report=told)
    whole = set(pipeline.terrain(document).spans)
    named = (replace(item, stretch=_whole(item.stretch, whole)) for item in found.stretches)
    return replace(found, stretches=tuple({item.stretch: item for item in named}.values()))


def _whole(stretch: StretchId, known: Collection[StretchId]) -> StretchId:
    """Name the stretch that a half split off by the start came from."""
    return stretch if stretch in known else StretchId(stretch[:-1])


def best_score(terrain: Terrain, *, question: Question, find: Find | None = None) -> float:
    """Score of the best loop, 0 if there is none."""
    from loopwright.loops import find_loops

    loops = (find or find_loops)(terrain, question).loops
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
