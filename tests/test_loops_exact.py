"""The search against exhaustive enumeration on small invented networks."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from loops_help import question_of, random_terrain
from loops_reference import every_loop, every_loop_with_repeats, judged
from loopwright.loops import find_loops
from loopwright.model.ground import Terrain
from loopwright.model.wishes import Mix, Question

SMALL = Mix(
    name="small",
    targets={
        "climb_gain_m": 40.0, "corners": 8.0, "tight_corners": 3.0, "rough_descent_m": 300.0,
        "steady_m": 300.0,
    },
    weights={"corners": 2.0},
)  # fmt: skip


def small_terrain(seed: int) -> Terrain:
    draw = random.Random(seed)
    return random_terrain(
        seed, draw.randint(8, 12), rings=draw.randint(0, 2), parallel=draw.randint(0, 3),
        one_way=0.2, passages=0.5, banned=0.1,
    )  # fmt: skip


def small_question(seed: int) -> Question:
    draw = random.Random(seed + 1000)
    high = draw.choice([1500.0, 2500.0, 3500.0])
    return question_of(SMALL, low_m=high * draw.choice([0.2, 0.5, 0.8]), high_m=high)


def agree(terrain: Terrain, question: Question, *, by_networkx: bool = False) -> None:
    """The search's best, bound and most hold against every loop there is."""
    listing = every_loop if by_networkx else every_loop_with_repeats
    loops = list(listing(terrain, question))
    result = find_loops(terrain, question)
    assert result.proven
    if not loops:
        assert result.loops == ()
        return
    best = max(loop.score for loop in loops)
    assert result.loops[0].score == pytest.approx(best, abs=1e-6)
    assert best - 1e-9 <= result.bound <= best + 0.01
    assert judged(terrain, question, result.loops[0].arcs) is not None
    for kind, most in result.most.items():
        assert most >= max(loop.amounts.get(kind, 0.0) for loop in loops) - 1e-6


@pytest.mark.parametrize("seed", [*range(8), *range(9, 31)])  # 8 has too many loops to list
def test_best_loop_is_the_best_of_all(seed: int) -> None:
    agree(small_terrain(seed), small_question(seed), by_networkx=True)


@pytest.mark.parametrize("seed", range(10))
def test_best_loop_from_a_start(seed: int) -> None:
    terrain = small_terrain(seed)
    start = random.Random(seed).choice(terrain.network.junctions).id
    agree(terrain, replace(small_question(seed), start_at=start))


@pytest.mark.parametrize("seed", range(10))
def test_best_loop_with_must_and_avoid(seed: int) -> None:
    terrain = small_terrain(seed)
    names = [s.id for s in terrain.network.stretches]
    picked = random.Random(seed).sample(names, 3)
    must, avoid = frozenset(picked[: 1 + seed % 2]), frozenset(picked[2:])
    agree(terrain, replace(small_question(seed), must=must, avoid=avoid))


@pytest.mark.parametrize("seed", range(10))
def test_best_loop_with_repeats(seed: int) -> None:
    terrain, question = small_terrain(seed), small_question(seed)
    wishes = replace(question.wishes, repeats=1 + seed % 2)
    agree(terrain, replace(question, wishes=wishes))


def test_two_hundred_networks_agree_with_plain_enumeration() -> None:
    for seed in range(1000, 1200):
        draw = random.Random(seed)
        terrain = random_terrain(
            seed, draw.randint(6, 10), rings=draw.randint(0, 2), parallel=draw.randint(0, 2),
            one_way=0.15, passages=0.5, banned=0.1,
        )  # fmt: skip
        question = small_question(seed)
        loops = [loop.score for loop in every_loop_with_repeats(terrain, question)]
        result = find_loops(terrain, question)
        assert result.proven, seed
        got = [loop.score for loop in result.loops]
        assert got == pytest.approx([max(loops)] if loops else [], abs=1e-6), seed
