"""What a loop is worth, from the terrain's own numbers.

Gets a terrain, a mix and arcs; gives a ``FoundLoop``. Promises: the same numbers the search adds
up, in plain sums, for any closed sequence of arcs.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

from loopwright.errors import WorldError
from loopwright.loops.graph import COMPACT_POINTS, FULL
from loopwright.model.ground import Terrain
from loopwright.model.ids import Arc
from loopwright.model.loops import FoundLoop
from loopwright.model.wishes import Mix


def score_loop(
    terrain: Terrain, mix: Mix, *, max_length_m: float, arcs: Sequence[Arc], rank: int = 1
) -> FoundLoop:
    """Score the closed sequence ``arcs``.

    ``match`` is the weighted mean over wanted kinds of min(1, amount / target); ``score`` is
    100 match - 10 length / max_length_m, and metres of a stretch ridden again cost as much once
    more. Amounts include the passages between arcs and the one that closes the loop.

    Raises
    ------
    WorldError
        If an arc is not on this terrain.
    """
    unknown = next((arc for arc in arcs if arc[0] not in terrain.lengths_m), None)
    if unknown is not None:
        raise WorldError("loop", f"stretch {unknown[0]} is not in this network", "find loops again")
    amounts = amounts_of(terrain, arcs)
    length = sum(terrain.lengths_m[stretch] for stretch, _ in arcs)
    match = match_of(mix, amounts)
    cost = (length + repeated_m(terrain, arcs)) / max_length_m
    return FoundLoop(
        rank=rank,
        arcs=tuple(arcs),
        score=FULL * match - COMPACT_POINTS * cost,
        match=match,
        length_m=length,
        ascent_m=sum(terrain.ascents_m.get(arc, 0.0) for arc in arcs),
        amounts=amounts,
    )


def amounts_of(terrain: Terrain, arcs: Sequence[Arc]) -> dict[str, float]:
    """Add up every kind over the arcs and the passages between them, round to the first again."""
    total: dict[str, float] = {}
    for arc in arcs:
        _add(total, terrain.amounts.get(arc, {}))
    steps = Counter(zip(arcs, (*arcs[1:], *arcs[:1]), strict=True))
    for passage in terrain.passages:
        for _ in range(steps[passage.before, passage.after]):
            _add(total, passage.amounts)
    return total


def _add(total: dict[str, float], more: Mapping[str, float]) -> None:
    for kind, value in more.items():
        total[kind] = total.get(kind, 0.0) + value


def match_of(mix: Mix, amounts: Mapping[str, float]) -> float:
    """Weighted mean over wanted kinds of min(1, amount / target)."""
    weights = sum(mix.weight(kind) for kind in mix.targets)
    got = sum(
        mix.weight(kind) * min(1.0, amounts.get(kind, 0.0) / target)
        for kind, target in mix.targets.items()
    )
    return got / weights


def repeated_m(terrain: Terrain, arcs: Sequence[Arc]) -> float:
    """Metres of stretches ridden a second time."""
    times = Counter(stretch for stretch, _ in arcs)
    return sum((n - 1) * terrain.lengths_m[stretch] for stretch, n in times.items())
