"""Slow, plain references for the loop search, written without looking at how it works.

``every_loop`` lists all loops of a small terrain; ``circuit_score`` asks a constraint solver.
"""

from __future__ import annotations

from collections.abc import Iterator

import networkx as nx

from loopwright.loops import score_loop
from loopwright.model.ground import Terrain
from loopwright.model.ids import Arc, Way
from loopwright.model.loops import FoundLoop
from loopwright.model.wishes import Question


def open_arcs(terrain: Terrain, question: Question) -> dict[Arc, tuple[str, str]]:
    """Arcs a loop may use, with the junctions they lead from and to."""
    ends: dict[Arc, tuple[str, str]] = {}
    for s in terrain.network.stretches:
        if s.id in question.avoid or (s.unridden and not question.wishes.use_unridden):
            continue
        if s.ways.allows(Way.FORWARD):
            ends[s.id, Way.FORWARD] = (s.start, s.end)
        if s.ways.allows(Way.BACKWARD):
            ends[s.id, Way.BACKWARD] = (s.end, s.start)
    return ends


def line_graph(terrain: Terrain, question: Question) -> nx.DiGraph[Arc]:
    """A node for each arc, an edge for each allowed passage."""
    ends = open_arcs(terrain, question)
    banned = {(p.before, p.after) for p in terrain.passages if not p.allowed}
    graph: nx.DiGraph[Arc] = nx.DiGraph()
    graph.add_nodes_from(ends)
    for a in ends:
        for b in ends:
            back = a[0] == b[0] and a[1] is not b[1]
            if ends[a][1] == ends[b][0] and not back and (a, b) not in banned:
                graph.add_edge(a, b)
    return graph


def every_loop(terrain: Terrain, question: Question) -> Iterator[FoundLoop]:
    """Every legal loop without repeats, from networkx's simple cycles of the line graph."""
    for arcs in nx.simple_cycles(line_graph(terrain, question)):
        if len({s for s, _ in arcs}) == len(arcs):
            loop = judged(terrain, question, tuple(arcs))
            if loop is not None:
                yield loop


def judged(terrain: Terrain, question: Question, arcs: tuple[Arc, ...]) -> FoundLoop | None:
    """The loop with its score, or None if the wishes rule it out."""
    wishes = question.wishes
    ends = open_arcs(terrain, question)
    ridden = {s for s, _ in arcs}
    loop = score_loop(terrain, wishes.mix, max_length_m=wishes.max_length_m, arcs=arcs)
    inside = wishes.min_length_m - 1e-6 <= loop.length_m <= wishes.max_length_m + 1e-6
    passes = question.start_at is None or any(ends[a][0] == question.start_at for a in arcs)
    return loop if inside and passes and question.must <= ridden else None


def every_loop_with_repeats(terrain: Terrain, question: Question) -> Iterator[FoundLoop]:
    """Every legal loop, stretches ridden again in the same direction up to ``repeats`` times."""
    graph = line_graph(terrain, question)
    order = {arc: i for i, arc in enumerate(graph)}
    cap = question.wishes.max_length_m + 1e-6

    def extend(path: list[Arc], length: float, again: int) -> Iterator[FoundLoop]:
        for arc in graph.successors(path[-1]):
            if arc == path[0]:
                loop = judged(terrain, question, tuple(path))
                if loop is not None:
                    yield loop
            ridden = path.count(arc)
            twin = (arc[0], arc[1].other)
            longer = length + terrain.lengths_m[arc[0]]
            more = again + (ridden > 0)
            if order[arc] < order[path[0]] or longer > cap or ridden > 1 or twin in path:
                continue
            if more <= question.wishes.repeats:
                yield from extend([*path, arc], longer, more)

    for arc in graph:
        if terrain.lengths_m[arc[0]] <= cap:
            yield from extend([arc], terrain.lengths_m[arc[0]], 0)
