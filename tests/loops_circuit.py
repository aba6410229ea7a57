"""The same question put to a constraint solver: a circuit over the line graph of arcs.

A reference for the tests and the yardstick of the benchmark; written from the published scoring,
without looking at how the search works. Circuit constraint over arcs, not junctions: parallel
stretches and figure-eights need that.
"""

from __future__ import annotations

from collections.abc import Mapping

from ortools.sat.python import cp_model

from loops_reference import judged, line_graph
from loopwright.loops import score_loop
from loopwright.model.ground import Terrain
from loopwright.model.ids import Arc
from loopwright.model.loops import FoundLoop
from loopwright.model.wishes import Question

FINE = 1_000_000
"""Whole units per point; and per metre 1000."""
MILLI = 1000


def circuit_best(
    terrain: Terrain, question: Question, *, seconds: float, workers: int = 1
) -> tuple[FoundLoop | None, bool]:
    """Best loop the solver finds, and whether it proved it the best.

    A ring ridden alone is no circuit for the solver, so such loops are looked at one by one.
    """
    model = cp_model.CpModel()
    graph = line_graph(terrain, question)
    number = {arc: i for i, arc in enumerate(graph)}
    used = {arc: model.new_bool_var("") for arc in graph}
    steps = {(a, b): model.new_bool_var("") for a, b in graph.edges if a != b}
    sides = [(number[a], number[b], lit) for (a, b), lit in steps.items()]
    model.add_circuit([*sides, *((number[a], number[a], ~used[a]) for a in graph)])
    _limits(model, terrain, question, used)
    _objective(model, terrain, question, used, steps)
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = workers
    solver.parameters.relative_gap_limit = 0.0
    status = solver.solve(model)
    rings = [judged(terrain, question, (a,)) for a in graph if graph.has_edge(a, a)]
    loops = [loop for loop in rings if loop is not None]
    if status in {cp_model.OPTIMAL, cp_model.FEASIBLE}:
        loops.append(
            _walk(terrain, question, {a: b for (a, b), lit in steps.items() if solver.value(lit)})
        )
    best = max(loops, key=lambda loop: loop.score, default=None)
    return best, status in {cp_model.OPTIMAL, cp_model.INFEASIBLE}


def _limits(
    model: cp_model.CpModel,
    terrain: Terrain,
    question: Question,
    used: Mapping[Arc, cp_model.IntVar],
) -> None:
    by_stretch: dict[str, list[cp_model.IntVar]] = {}
    for (stretch, _), lit in used.items():
        by_stretch.setdefault(stretch, []).append(lit)
    for name, lits in by_stretch.items():
        if name in question.must:
            model.add_exactly_one(lits)
        else:
            model.add_at_most_one(lits)
    length = sum(round(terrain.lengths_m[s] * MILLI) * lit for (s, _), lit in used.items())
    wishes = question.wishes
    model.add_linear_constraint(
        length, round(wishes.min_length_m * MILLI), round(wishes.max_length_m * MILLI)
    )
    if question.start_at is not None:
        ends = {s.id: (s.start, s.end) for s in terrain.network.stretches}
        model.add_at_least_one(lit for (s, _), lit in used.items() if question.start_at in ends[s])


def _objective(
    model: cp_model.CpModel,
    terrain: Terrain,
    question: Question,
    used: Mapping[Arc, cp_model.IntVar],
    steps: Mapping[tuple[Arc, Arc], cp_model.IntVar],
) -> None:
    wishes = question.wishes
    share = FINE * 100 / sum(wishes.mix.weight(kind) for kind in wishes.mix.targets)
    passages = {(p.before, p.after): p.amounts for p in terrain.passages}
    total = -sum(
        round(terrain.lengths_m[s] * 10 * FINE / wishes.max_length_m) * lit
        for (s, _), lit in used.items()
    )
    for kind, target in wishes.mix.targets.items():
        top = round(share * wishes.mix.weight(kind))
        got = model.new_int_var(0, top, kind)
        scale = top / target
        have = [round(terrain.amounts[a].get(kind, 0.0) * scale) * lit for a, lit in used.items()]
        have += [
            round(passages.get(edge, {}).get(kind, 0.0) * scale) * lit
            for edge, lit in steps.items()
        ]
        model.add(got <= sum(have))
        total += got
    model.maximize(total)


def _walk(terrain: Terrain, question: Question, after: Mapping[Arc, Arc]) -> FoundLoop:
    arc = next(iter(after))
    arcs = [arc]
    while after[arcs[-1]] != arc:
        arcs.append(after[arcs[-1]])
    longest = question.wishes.max_length_m
    return score_loop(terrain, question.wishes.mix, max_length_m=longest, arcs=tuple(arcs))
