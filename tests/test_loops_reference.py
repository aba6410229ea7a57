"""The search against a constraint solver's circuit over the line graph."""

from __future__ import annotations

from dataclasses import replace

import pytest

from loops_circuit import circuit_best
from loops_help import question_of, random_terrain
from loopwright.loops import find_loops


@pytest.mark.parametrize("seed", range(30))
def test_agrees_with_the_solver(seed: int) -> None:
    terrain = random_terrain(seed, 18 + 2 * (seed % 6), rings=1, parallel=2, one_way=0.15)
    question = question_of(low_m=1200.0, high_m=3500.0)
    if seed % 2:
        question = replace(question, must=frozenset({terrain.network.stretches[seed % 12].id}))
    loop, proven = circuit_best(terrain, question, seconds=60.0)
    result = find_loops(terrain, question)
    assert proven
    assert result.proven
    if loop is None:
        assert result.loops == ()
    else:
        assert result.loops[0].score == pytest.approx(loop.score, abs=1e-5)
