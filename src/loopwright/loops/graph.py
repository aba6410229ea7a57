"""From a terrain and a question to the plain arrays the kernels search on.

Gets model values; gives a ``Sheet``: the graph, the names of its arcs, and the rule. Promises:
arcs that the question rules out are not in it, so every loop of the graph is one the question
allows, but for the conditions the rule carries.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from loopwright.loops.further import Further, Pairs
from loopwright.loops.shapes import Counts, Graph, Reals, Rule
from loopwright.model.ground import Terrain
from loopwright.model.ids import Arc, StretchId, Way
from loopwright.model.network import Stretch
from loopwright.model.wishes import Mix, Question

COMPACT_POINTS = 10.0
"""Points a lap of the greatest length loses; a metre ridden a second time costs twice."""
LENGTH_HAIR_M = 1e-6
FULL = 100.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A question as arrays. ``arcs`` names the graph's arcs; ``junctions`` its junctions."""

    graph: Graph
    rule: Rule
    arcs: tuple[Arc, ...]
    junctions: tuple[str, ...]
    start: int
    """Number of the junction to begin at, -1 for any."""
    hopeless: bool
    """Whether a wish names ground that no loop can use."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """The lap window, and what is measured: metres, or predicted seconds."""

    low: float
    high: float
    size: Mapping[Arc, float]
    """Metres or seconds of each arc; arcs without one may not be used."""


def window_of(terrain: Terrain, question: Question, further: Further) -> Window:
    """Give the window in seconds where times are predicted, else in metres."""
    if further.times is not None:
        return Window(
            low=further.times.low_s, high=further.times.high_s, size=further.times.seconds
        )
    wishes = question.wishes
    metres = {(s, way): length for s, length in terrain.lengths_m.items() for way in Way}
    return Window(low=wishes.min_length_m, high=wishes.max_length_m, size=metres)


def sheet_of(terrain: Terrain, question: Question, further: Further) -> Sheet:
    """Lay the question out as arrays."""
    window = window_of(terrain, question, further)
    stretches = tuple(s for s in terrain.network.stretches if usable(s, question))
    arcs = tuple(
        (s.id, way)
        for s in stretches
        for way in Way
        if s.ways.allows(way) and (s.id, way) in window.size
    )
    ends = {s.id: (s.start, s.end) for s in stretches}
    names = tuple(sorted({j for pair in ends.values() for j in pair}))
    graph = graph_of(terrain, question, window, arcs, ends, apart=further.apart)
    start = names.index(question.start_at) if question.start_at in names else -1
    known = {arc[0] for arc in arcs}
    return Sheet(
        graph=graph,
        rule=rule_of(question, window),
        arcs=arcs,
        junctions=names,
        start=start,
        hopeless=(question.start_at is not None and start < 0)
        or bool(question.must - known)
        or not arcs,
    )


def usable(stretch: Stretch, question: Question) -> bool:
    """Tell whether a loop may use the stretch at all."""
    return stretch.id not in question.avoid and (
        question.wishes.use_unridden or not stretch.unridden
    )


def rule_of(question: Question, window: Window) -> Rule:
    """Limits of the search, worths and lengths in points."""
    wishes, least = question.wishes, window.low - LENGTH_HAIR_M
    return Rule(
        cap=window.high + LENGTH_HAIR_M,
        least=least,
        most=shares(wishes.mix),
        room=np.array([-least * FULL / window.high]),
        price=COMPACT_POINTS / window.high,
        repeats=wishes.repeats,
        musts=len(question.must),
    )


def shares(mix: Mix) -> Reals:
    """(K,) points each wanted kind can bring, in the order of ``mix.targets``."""
    weights = np.array([mix.weight(kind) for kind in mix.targets])
    return np.asarray(FULL * weights / weights.sum(), dtype=np.float64)


def worths(mix: Mix, rows: Iterable[Mapping[str, float]], count: int) -> Reals:
    """(count, K) points of amounts, not yet held to what each kind can bring."""
    table = np.zeros((count, len(mix.targets)))
    points = shares(mix) / np.array(list(mix.targets.values()))
    for row, amounts in zip(table, rows, strict=True):
        for k, kind in enumerate(mix.targets):
            row[k] = amounts.get(kind, 0.0) * points[k]
    return table


def graph_of(
    terrain: Terrain,
    question: Question,
    window: Window,
    arcs: tuple[Arc, ...],
    ends: Mapping[StretchId, tuple[str, str]],
    *,
    apart: Pairs,
) -> Graph:
    """Arrays of the arcs and their links."""
    names = {name: i for i, name in enumerate(sorted({j for pair in ends.values() for j in pair}))}
    place = {arc: i for i, arc in enumerate(arcs)}
    numbers = {stretch: i for i, stretch in enumerate(ends)}
    musts = {stretch: i for i, stretch in enumerate(sorted(question.must))}
    tails = [ends[s][0 if way is Way.FORWARD else 1] for s, way in arcs]
    heads = [ends[s][1 if way is Way.FORWARD else 0] for s, way in arcs]
    length = np.array([window.size[arc] for arc in arcs], dtype=np.float64)
    first, succ, pairs = links_of(terrain, arcs, tails, heads)
    pred_first, pred = reversed_links(first, succ)
    foe_first, foe = foes_of(place, apart)
    mix = question.wishes.mix
    empty: Mapping[str, float] = {}
    return Graph(
        stretch=_ints(numbers[s] for s, _ in arcs),
        tail=_ints(names[j] for j in tails),
        head=_ints(names[j] for j in heads),
        length=length,
        worth=worths(mix, (terrain.amounts.get(arc, empty) for arc in arcs), len(arcs)),
        load=(-length * FULL / window.high).reshape(-1, 1),
        twin=_ints(place.get((s, way.other), -1) for s, way in arcs),
        must=_ints(musts.get(s, -1) for s, _ in arcs),
        first=first,
        succ=succ,
        link_worth=worths(mix, pairs, len(pairs)),
        pred_first=pred_first,
        pred=pred,
        foe_first=foe_first,
        foe=foe,
    )


def _ints(values: Iterable[int]) -> Counts:
    return np.fromiter(values, dtype=np.int32)


def links_of(
    terrain: Terrain, arcs: tuple[Arc, ...], tails: list[str], heads: list[str]
) -> tuple[Counts, Counts, list[Mapping[str, float]]]:
    """List allowed passages: where each arc's begin, the following arcs, and what each adds."""
    leaving: dict[str, list[int]] = {}
    for i, name in enumerate(tails):
        leaving.setdefault(name, []).append(i)
    special = {(p.before, p.after): p for p in terrain.passages}
    empty: Mapping[str, float] = {}
    first, succ, amounts = [0], [], []
    for i, (stretch, way) in enumerate(arcs):
        for j in leaving.get(heads[i], ()):
            passage = special.get((arcs[i], arcs[j]))
            straight_back = arcs[j] == (stretch, way.other)
            if not straight_back and (passage is None or passage.allowed):
                succ.append(j)
                amounts.append(empty if passage is None else passage.amounts)
        first.append(len(succ))
    return _ints(first), _ints(succ), amounts


def foes_of(place: Mapping[Arc, int], apart: Pairs) -> tuple[Counts, Counts]:
    """Where each arc's foes begin, and which they are."""
    foes: list[set[int]] = [set() for _ in place]
    for one, other in apart:
        if one in place and other in place:
            foes[place[one]].add(place[other])
            foes[place[other]].add(place[one])
    first = np.cumsum([0, *(len(row) for row in foes)])
    return first.astype(np.int32), _ints(arc for row in foes for arc in sorted(row))


def reversed_links(first: Counts, succ: Counts) -> tuple[Counts, Counts]:
    """Where each arc's backward links begin, and the arcs before it."""
    before = np.repeat(np.arange(first.size - 1, dtype=np.int32), np.diff(first))
    order = np.argsort(succ, kind="stable")
    counts = np.bincount(succ, minlength=first.size - 1)
    begin = np.concatenate(([0], np.cumsum(counts))).astype(np.int32)
    return begin, before[order]
