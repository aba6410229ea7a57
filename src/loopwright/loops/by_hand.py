"""Drawing a loop by hand, with the search to help.

Gets a loop and what a person did to it; gives the nearest legal loop, or the best that keeps the
locked part. Including and excluding stretches needs nothing here: they are the question's ``must``
and ``avoid``. Promises: every answer is a legal loop under the wishes, scored like any other.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

from loopwright.jobs import Report
from loopwright.loops.find import find_loops
from loopwright.loops.further import FREE, Further
from loopwright.loops.legal import ends_of
from loopwright.loops.progress import scored
from loopwright.model.ground import Passage, Terrain
from loopwright.model.ids import Arc, StretchId, Way, Ways
from loopwright.model.loops import FoundLoop, SearchResult
from loopwright.model.network import Stretch
from loopwright.model.wishes import Mix, Question

KEPT = "kept_m"
"""A kind of this file only: metres of the old loop that the new one keeps."""
KEEP_WEIGHT = 50.0
"""How much keeping the old loop counts against the whole mix when a loop is dragged."""
DRAG_S = 2.0


def drag_through(
    terrain: Terrain,
    question: Question,
    loop: Sequence[Arc],
    *,
    stretch: StretchId,
    further: Further = FREE,
    report: Report | None = None,
) -> FoundLoop | None:
    """Lead the loop through ``stretch`` and keep as much of it as can be; None if it cannot.

    Among loops that keep the same metres the better score wins.
    """
    wanted = replace(question, must=question.must | {stretch}, avoid=question.avoid - {stretch})
    return _nearest(terrain, wanted, loop, further, report)


def lead_around(
    terrain: Terrain,
    question: Question,
    loop: Sequence[Arc],
    *,
    stretch: StretchId,
    further: Further = FREE,
    report: Report | None = None,
) -> FoundLoop | None:
    """Lead the loop around ``stretch`` and keep as much of it as can be; None if it cannot."""
    wanted = replace(question, must=question.must - {stretch}, avoid=question.avoid | {stretch})
    return _nearest(terrain, wanted, loop, further, report)


def finish(
    terrain: Terrain,
    question: Question,
    locked: Sequence[Arc],
    *,
    further: Further = FREE,
    report: Report | None = None,
) -> SearchResult:
    """Find the best loops that ride ``locked`` in this order and direction, one piece or several.

    Where one locked arc ends at the junction where the next begins, nothing comes between them.
    """
    held = {stretch for stretch, _ in locked}
    wanted = replace(question, must=question.must | held)
    return find_loops(_locked_terrain(terrain, locked), wanted, report=report, further=further)


def _nearest(
    terrain: Terrain,
    question: Question,
    loop: Sequence[Arc],
    further: Further,
    report: Report | None,
) -> FoundLoop | None:
    mix = question.wishes.mix
    length = sum(terrain.lengths_m[stretch] for stretch, _ in loop)
    weights = {kind: mix.weight(kind) for kind in mix.targets}
    keep = KEEP_WEIGHT * sum(weights.values())
    near_mix = Mix(
        name=mix.name, targets={**mix.targets, KEPT: length}, weights={**weights, KEPT: keep}
    )
    wishes = replace(question.wishes, mix=near_mix, count=1, seconds=DRAG_S)
    wanted, kept = replace(question, wishes=wishes), _with_kept(terrain, loop)
    result = find_loops(kept, wanted, report=report, further=further)
    if not result.loops:
        return None
    return scored(terrain, question, further, result.loops[0].arcs)


def _with_kept(terrain: Terrain, loop: Sequence[Arc]) -> Terrain:
    """Give the terrain with metres of the old loop, ridden the same way, as one more kind."""
    amounts = dict(terrain.amounts)
    for arc in loop:
        amounts[arc] = {**amounts.get(arc, {}), KEPT: terrain.lengths_m[arc[0]]}
    return replace(terrain, amounts=amounts)


def _locked_terrain(terrain: Terrain, locked: Sequence[Arc]) -> Terrain:
    """Give the terrain on which locked arcs have one way, and one way on where they touch."""
    ways = dict(locked)
    stretches = tuple(_one_way(s, ways.get(s.id)) for s in terrain.network.stretches)
    network = replace(terrain.network, stretches=stretches)
    arcs = {(s.id, way): ends_of(s, way) for s in stretches for way in Way}
    banned: set[tuple[Arc, Arc]] = set()
    for before, after in pairwise(locked):
        if before in arcs and after in arcs and arcs[before][1] == arcs[after][0]:
            spot = arcs[after][0]
            banned |= {(before, a) for a, (tail, _) in arcs.items() if tail == spot and a != after}
            banned |= {(a, after) for a, (_, head) in arcs.items() if head == spot and a != before}
    return replace(terrain, network=network, passages=_with_banned(terrain.passages, banned))


def _one_way(stretch: Stretch, way: Way | None) -> Stretch:
    """Hold a stretch to one way; closed when it may not be ridden that way."""
    if way is None:
        return stretch
    return replace(stretch, ways=Ways(way.value) if stretch.ways.allows(way) else Ways.CLOSED)


def _with_banned(passages: Sequence[Passage], banned: set[tuple[Arc, Arc]]) -> tuple[Passage, ...]:
    kept = tuple(p for p in passages if (p.before, p.after) not in banned)
    ordered = sorted(banned, key=_by_name)
    return (*kept, *(Passage(before=a, after=b, allowed=False) for a, b in ordered))


def _by_name(pair: tuple[Arc, Arc]) -> tuple[str, str, str, str]:
    return (pair[0][0], pair[0][1].value, pair[1][0], pair[1][1].value)


def in_a_row(terrain: Terrain, stretches: Sequence[StretchId]) -> tuple[Arc, ...]:
    """Ride stretches in the given order, each the way that goes on from the one before.

    Where one does not touch the one before it is ridden as drawn; unknown ones are left out.
    """
    known = {s.id: s for s in terrain.network.stretches}
    row = [known[name] for name in stretches if name in known]
    arcs: list[Arc] = []
    for place, stretch in enumerate(row):
        here = ends_of(row[place - 1], arcs[-1][1])[1] if arcs else None
        after = row[place + 1] if not arcs and place + 1 < len(row) else None
        onward = {after.start, after.end} if after is not None else set()
        back = stretch.end == here != stretch.start or (
            stretch.start in onward and stretch.end not in onward
        )
        arcs.append((stretch.id, Way.BACKWARD if back else Way.FORWARD))
    return tuple(arcs)


def live_amounts(terrain: Terrain, arcs: Sequence[Arc]) -> Mapping[str, float]:
    """Add up what an unfinished row of arcs gathers so far, passages between them included."""
    total: dict[str, float] = {}
    steps = set(pairwise(arcs))
    rows = [terrain.amounts.get(arc, {}) for arc in arcs]
    rows += [p.amounts for p in terrain.passages if (p.before, p.after) in steps]
    for row in rows:
        for kind, value in row.items():
            total[kind] = total.get(kind, 0.0) + value
    return total
