"""Why this loop, why not that one, and how far from the best possible.

Gets loops and a question; gives numbers in points of the published score, and plain words.
Promises: points of kinds and of length add up to the score's difference.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from loopwright.jobs import Report
from loopwright.loops.find import find_loops
from loopwright.loops.further import FREE, Further
from loopwright.loops.graph import COMPACT_POINTS, FULL
from loopwright.loops.progress import PROVEN_GAP
from loopwright.loops.score import amounts_of, match_of
from loopwright.model.ground import Amounts, Terrain
from loopwright.model.ids import Arc, StretchId
from loopwright.model.loops import FoundLoop, SearchResult
from loopwright.model.wishes import Mix, Question

ASK_S = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """What one stretch of a loop adds.

    ``amounts`` are its own and those of the passage into the next. ``points`` is what the loop's
    match, in points, would lose without them; ``cost`` the points its metres cost.
    """

    arc: Arc
    length_m: float
    amounts: Amounts
    points: float
    cost: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """What another loop loses (negative) or gains against this one, in points.

    ``by_kind`` and ``by_length`` (compactness and repeats) add up to ``in_all``.
    """

    by_kind: Amounts
    by_length: float
    in_all: float


def parts_of(terrain: Terrain, question: Question, arcs: Sequence[Arc]) -> tuple[Part, ...]:
    """Tell what each stretch adds, in riding order."""
    mix, longest = question.wishes.mix, question.wishes.max_length_m
    whole = amounts_of(terrain, arcs)
    between = {(p.before, p.after): p.amounts for p in terrain.passages}
    parts = []
    for arc, after in zip(arcs, (*arcs[1:], *arcs[:1]), strict=True):
        own = dict(terrain.amounts.get(arc, {}))
        for kind, value in between.get((arc, after), {}).items():
            own[kind] = own.get(kind, 0.0) + value
        left = {kind: value - own.get(kind, 0.0) for kind, value in whole.items()}
        length = terrain.lengths_m[arc[0]]
        parts.append(
            Part(
                arc=arc, length_m=length, amounts=own,
                points=FULL * (match_of(mix, whole) - match_of(mix, left)),
                cost=COMPACT_POINTS * length / longest,
            )
        )  # fmt: skip
    return tuple(parts)


def compare(question: Question, this: FoundLoop, other: FoundLoop) -> Comparison:
    """Tell what ``other`` loses or gains against ``this``; both scored under the question."""
    mix = question.wishes.mix
    by_kind = {
        kind: kind_points(mix, kind, other.amounts) - kind_points(mix, kind, this.amounts)
        for kind in mix.targets
    }
    in_all = other.score - this.score
    return Comparison(by_kind=by_kind, by_length=in_all - sum(by_kind.values()), in_all=in_all)


def kind_points(mix: Mix, kind: str, amounts: Amounts) -> float:
    """Give the points that one kind brings, at most its share of 100."""
    share = FULL * mix.weight(kind) / sum(mix.weight(k) for k in mix.targets)
    return share * min(1.0, amounts.get(kind, 0.0) / mix.targets[kind])


def best_without(
    terrain: Terrain,
    question: Question,
    stretch: StretchId,
    *,
    further: Further = FREE,
    report: Report | None = None,
) -> FoundLoop | None:
    """Find the best loop that does not ride ``stretch``: its worth is the difference in score."""
    wanted = replace(question, avoid=question.avoid | {stretch}, must=question.must - {stretch})
    return _best(terrain, wanted, further, report)


def best_with(
    terrain: Terrain,
    question: Question,
    stretch: StretchId,
    *,
    further: Further = FREE,
    report: Report | None = None,
) -> FoundLoop | None:
    """Find the best loop that rides ``stretch``: why it is not in the best loop of all."""
    wanted = replace(question, must=question.must | {stretch}, avoid=question.avoid - {stretch})
    return _best(terrain, wanted, further, report)


def _best(
    terrain: Terrain, question: Question, further: Further, report: Report | None
) -> FoundLoop | None:
    wishes = replace(question.wishes, count=1, seconds=min(ASK_S, question.wishes.seconds))
    wanted = replace(question, wishes=wishes)
    result = find_loops(terrain, wanted, report=report, further=further)
    return result.loops[0] if result.loops else None


def in_plain_words(result: SearchResult) -> str:
    """Say how far the best loop is from the best possible."""
    if not result.loops:
        if result.proven:
            return "no loop on this network fits these wishes"
        return "no loop found yet; whether there is one is still open"
    best = result.loops[0].score
    if result.proven:
        return "no loop on this network under these wishes scores higher"
    open_points = result.bound - best
    if open_points < 1.0:
        return f"at most {max(open_points, PROVEN_GAP):.2f} points below the best possible"
    return f"within {open_points:.0f} points of the best possible; more time may find a better one"
