"""What is wrong with a loop, in plain words.

Gets arcs in riding order; gives the faults a person should see while drawing by hand. Promises: an
empty answer means the arcs are a legal loop under the wishes.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from loopwright.loops.graph import LENGTH_HAIR_M
from loopwright.model.ground import Terrain
from loopwright.model.ids import Arc, StretchId, Way
from loopwright.model.network import Stretch
from loopwright.model.wishes import Question


@dataclass(frozen=True, slots=True, kw_only=True)
class LoopFault:
    """One thing wrong. ``stretch`` is where, None for the loop as a whole."""

    words: str
    stretch: StretchId | None = None


def faults_of(terrain: Terrain, question: Question, arcs: Sequence[Arc]) -> tuple[LoopFault, ...]:
    """List what keeps ``arcs`` from being a legal loop, worst for the rider first."""
    known = {s.id: s for s in terrain.network.stretches}
    lost = [LoopFault(words="not in this network", stretch=s) for s, _ in arcs if s not in known]
    if lost or not arcs:
        return tuple(lost) or (LoopFault(words="nothing chosen yet"),)
    return (
        *_closed_ways(known, question, arcs),
        *_breaks(terrain, known, arcs),
        *_repeats(question, arcs),
        *_wishes(terrain, known, question, arcs),
    )


def ends_of(stretch: Stretch, way: Way) -> tuple[str, str]:
    """Give the junctions from and to which the stretch leads when ridden ``way``."""
    ends = (stretch.start, stretch.end)
    return ends if way is Way.FORWARD else (ends[1], ends[0])


def _closed_ways(
    known: dict[StretchId, Stretch], question: Question, arcs: Sequence[Arc]
) -> Iterator[LoopFault]:
    for stretch, way in arcs:
        if not known[stretch].ways.allows(way):
            yield LoopFault(words="may not be ridden this way", stretch=stretch)
        if stretch in question.avoid:
            yield LoopFault(words="is to be avoided", stretch=stretch)
        if known[stretch].unridden and not question.wishes.use_unridden:
            yield LoopFault(words="is not ridden yet", stretch=stretch)


def _breaks(
    terrain: Terrain, known: dict[StretchId, Stretch], arcs: Sequence[Arc]
) -> Iterator[LoopFault]:
    banned = {(p.before, p.after) for p in terrain.passages if not p.allowed}
    for before, after in zip(arcs, (*arcs[1:], arcs[0]), strict=True):
        if ends_of(known[before[0]], before[1])[1] != ends_of(known[after[0]], after[1])[0]:
            yield LoopFault(words="the loop breaks off after this stretch", stretch=before[0])
        elif before[0] == after[0] and before[1] is not after[1]:
            yield LoopFault(words="turns straight back", stretch=before[0])
        elif (before, after) in banned:
            yield LoopFault(words="this turn is not allowed", stretch=before[0])


def _repeats(question: Question, arcs: Sequence[Arc]) -> Iterator[LoopFault]:
    times = Counter(stretch for stretch, _ in arcs)
    ways: dict[StretchId, set[Way]] = {}
    for stretch, way in arcs:
        ways.setdefault(stretch, set()).add(way)
    for stretch, both in ways.items():
        if len(both) > 1:
            yield LoopFault(words="is ridden both ways: riders would meet head-on", stretch=stretch)
        if times[stretch] > 2:
            yield LoopFault(words="is ridden more than twice", stretch=stretch)
    again = sum(n - 1 for n in times.values())
    if again > question.wishes.repeats:
        most = question.wishes.repeats
        yield LoopFault(words=f"{again} stretches are ridden again, {most} at most are wished")


def _wishes(
    terrain: Terrain, known: dict[StretchId, Stretch], question: Question, arcs: Sequence[Arc]
) -> Iterator[LoopFault]:
    length = sum(terrain.lengths_m[stretch] for stretch, _ in arcs)
    low, high = question.wishes.min_length_m, question.wishes.max_length_m
    if length < low - LENGTH_HAIR_M:
        yield LoopFault(words=f"{low - length:.0f} m shorter than wished")
    if length > high + LENGTH_HAIR_M:
        yield LoopFault(words=f"{length - high:.0f} m longer than wished")
    ridden = {stretch for stretch, _ in arcs}
    for stretch in sorted(question.must - ridden):
        yield LoopFault(words="must be ridden and is not", stretch=stretch)
    passed = {ends_of(known[stretch], way)[0] for stretch, way in arcs}
    if question.start_at is not None and question.start_at not in passed:
        yield LoopFault(words="does not pass the start")
