"""Different loops and the most on offer, against picking from every loop of a tiny network."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from loops_help import Listener, question_of, random_terrain
from loops_reference import every_loop
from loops_tiny import B, F, arcs, ground, name
from loopwright.loops import find_loops, search
from loopwright.loops.further import Further
from loopwright.loops.graph import sheet_of
from loopwright.loops.hunt import Hunt
from loopwright.loops.search import apart, is_free
from loopwright.model.ground import Passage, Terrain
from loopwright.model.ids import JunctionId
from loopwright.model.loops import FoundLoop
from loopwright.model.wishes import Mix, Question

MIX = Mix(name="two", targets={"corners": 10.0, "steady_m": 100.0}, weights={"corners": 3.0})
ASKED = question_of(MIX, low_m=100.0, high_m=500.0, count=4)
TRIANGLE = arcs((0, F), (1, F), (2, F))


def dressed(seed: int) -> Terrain:
    """The ground of two triangles with amounts from a die."""
    rng = np.random.default_rng(seed)
    amounts = {
        arc: {"corners": float(rng.integers(0, 4)), "steady_m": float(rng.integers(0, 60))}
        for arc in ground().amounts
    }
    turns = arcs((0, F), (1, F), (5, B), (4, B), (2, F), (0, F))
    passages = tuple(
        Passage(before=a, after=b, amounts={"corners": float(rng.integers(0, 3))})
        for a, b in pairwise(turns)
    )
    return replace(ground(), amounts=amounts, passages=passages)


def shared(loop: FoundLoop, better: FoundLoop) -> float:
    ridden = {s for s, _ in better.arcs}
    return sum(s in ridden for s, _ in loop.arcs) / len(loop.arcs)


def picked(terrain: Terrain, question: Question) -> list[float]:
    """Scores of the best loop, then of the best that shares less than 60 % with each before."""
    left, chosen = list(every_loop(terrain, question)), list[FoundLoop]()
    while left and len(chosen) < question.wishes.count:
        chosen.append(max(left, key=lambda loop: loop.score))
        left = [loop for loop in left if all(shared(loop, better) < 0.6 for better in chosen)]
    return [loop.score for loop in chosen]


@pytest.mark.parametrize("seed", range(6))
def test_each_loop_is_the_best_that_differs_from_those_before(seed: int) -> None:
    terrain = dressed(seed)
    for question in (ASKED, replace(ASKED, start_at=JunctionId("j1"))):
        found = find_loops(terrain, question)
        scores = [loop.score for loop in found.loops]
        assert [loop.rank for loop in found.loops] == list(range(1, len(scores) + 1))
        if question is ASKED:
            assert scores == pytest.approx(picked(terrain, question), abs=0.011)
        assert found.proven
        assert scores[0] <= found.bound <= scores[0] + 0.01


def test_as_many_loops_as_are_wished_and_each_is_told() -> None:
    for count in (1, 2):
        heard = Listener()
        question = replace(ASKED, wishes=replace(ASKED.wishes, count=count))
        found = find_loops(dressed(1), question, report=heard)
        assert len(found.loops) == count
        assert heard.answers[-1].loops == found.loops
        assert next(len(a.loops) for a in heard.answers if a.loops) == 1


@pytest.mark.parametrize("seed", [2, 3, 4])
def test_a_best_loop_is_called_proven_before_the_last_hair_is_looked_for(
    monkeypatch: pytest.MonkeyPatch, seed: int
) -> None:
    heard, proven, settle = Listener(), list[bool](), Hunt.settle

    def watched(one: Hunt, gap: float, *, turns: int | None = None) -> None:
        if gap == 0.0:
            proven.append(heard.answers[-1].proven)
        settle(one, gap, turns=turns)

    monkeypatch.setattr(Hunt, "settle", watched)
    find_loops(random_terrain(seed, 20), question_of(low_m=900.0, high_m=2500.0), report=heard)
    assert proven == [True]
    for answer in heard.answers:  # it is written to JSON as it is
        assert type(answer.proven) is bool
        assert type(answer.bound) is float


class Enough(Listener):
    """Wants to stop once further loops were told of before the first was proven."""

    def cancelled(self) -> bool:
        return any(len(a.loops) > 1 and not a.proven for a in self.answers)


def test_other_loops_do_not_wait_for_a_hard_proof(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(search, "PATIENCE", 1)
    heard = Enough()
    question = question_of(low_m=300.0, high_m=9000.0, count=3)
    found = find_loops(random_terrain(0, 60), question, report=heard)
    assert heard.cancelled()
    assert not found.proven
    assert shared(found.loops[1], found.loops[0]) < 0.6


@pytest.mark.parametrize(("seed", "high_m"), [(0, 2500.0), (2, 9000.0), (3, 9000.0)])
def test_patience_does_not_change_the_answer(
    monkeypatch: pytest.MonkeyPatch, seed: int, high_m: float
) -> None:
    question = question_of(low_m=300.0, high_m=high_m, count=4)
    terrain, rounds = random_terrain(seed, 34), list[int]()
    patient = find_loops(terrain, question)
    once = search.Chain.round

    def counted(chain: search.Chain, turns: int) -> None:
        rounds.append(turns)
        once(chain, turns)

    monkeypatch.setattr(search, "PATIENCE", 1)
    monkeypatch.setattr(search.Chain, "round", counted)
    hasty = find_loops(terrain, question)
    assert rounds == [2**i for i in range(len(rounds))]
    assert len(rounds) > 1 or high_m < 9000.0
    assert patient.proven
    assert hasty.proven
    assert [loop.score for loop in hasty.loops] == pytest.approx(
        [loop.score for loop in patient.loops], abs=0.011
    )
    assert hasty.bound == pytest.approx(patient.bound, abs=0.011)


@pytest.mark.parametrize("seed", range(6))
def test_the_most_on_offer_is_the_most_of_any_loop(seed: int) -> None:
    """Up to the gap of a hundredth of a percent of what was thought at first."""
    terrain = dressed(seed)
    found = find_loops(terrain, ASKED)
    for kind in MIX.targets:
        best = max(loop.amounts.get(kind, 0.0) for loop in every_loop(terrain, ASKED))
        assert best - 1e-9 <= found.most[kind] <= best + 0.1


def test_where_a_kind_is_not_there_nothing_is_on_offer() -> None:
    found = find_loops(replace(ground(), amounts={}, passages=()), ASKED)
    assert found.most == {"corners": 0.0, "steady_m": 0.0}
    none = find_loops(ground(), replace(ASKED, wishes=replace(ASKED.wishes, min_length_m=499.0,
                                                             max_length_m=499.5)))  # fmt: skip
    assert none.loops == ()
    assert none.proven
    assert set(none.most.values()) == {0.0}


@pytest.mark.parametrize("better", [arcs((1, F))[0], arcs((5, F))[0]])
def test_the_best_is_the_best_even_by_less_than_the_gap(better: tuple[object, object]) -> None:
    """Two triangles that differ by 0.004 points in one of their arcs."""
    rich = {arcs((0, F))[0]: {"steady_m": 50.0}, arcs((4, F))[0]: {"steady_m": 50.0}}
    rich[better] = {"steady_m": 0.016}  # type: ignore[index] # an arc
    terrain = replace(ground(), amounts=rich, passages=())
    best = max(loop.score for loop in every_loop(terrain, ASKED))
    found = find_loops(terrain, ASKED)
    assert found.loops[0].score == pytest.approx(best, abs=1e-9)
    assert found.bound == pytest.approx(best, abs=1e-9)


def test_loops_share_less_than_60_percent() -> None:
    """Hundredths of the longest lap: shared metres less 60 % of all must stay below none."""
    sheet = sheet_of(ground(), ASKED, Further())
    numbers = [sheet.arcs.index(arc) for arc in TRIANGLE]
    graph, rule = apart(sheet, [numbers])
    loads = {arc: graph.load[i, 1] for i, arc in enumerate(sheet.arcs)}
    for i in range(6):
        for way in (F, B):
            assert loads[name(i), way] == pytest.approx(8.0 if i < 3 else -12.0)
    assert rule.room[0] == sheet.rule.room[0]
    assert 3 * 8.0 - 2 * 12.0 > rule.room[1] > 2 * 8.0 - 2 * 12.0
    assert rule.room[1] == pytest.approx(0.0, abs=1e-5)
    np.testing.assert_array_equal(graph.load[:, :1], sheet.graph.load)
    twice, stricter = apart(sheet, [numbers, numbers[:1]])
    assert twice.load.shape == (12, 3)
    assert stricter.room.shape == (3,)
    assert apart(sheet, []) == (sheet.graph, sheet.rule)


def test_loops_may_lie_anywhere_without_a_start_or_a_must() -> None:
    for changes, free in (
        ({}, True), ({"start_at": "j0"}, False), ({"must": frozenset({name(1)})}, False),
        ({"start_at": "j0", "must": frozenset({name(1)})}, False),
    ):  # fmt: skip
        question = replace(ASKED, **changes)
        assert is_free(sheet_of(ground(), question, Further())) is free
