"""Dragging, locking, explaining and weighing, on invented networks."""

from __future__ import annotations

from dataclasses import replace

import pytest

from loops_help import RACE, question_of, random_terrain
from loopwright.loops import find_loops
from loopwright.loops.by_hand import drag_through, finish, lead_around, live_amounts
from loopwright.loops.explain import (
    best_with,
    best_without,
    compare,
    in_plain_words,
    kind_points,
    parts_of,
)
from loopwright.loops.legal import faults_of
from loopwright.loops.trade_off import front_of, trade_off
from loopwright.model.ground import Terrain
from loopwright.model.loops import FoundLoop

QUESTION = question_of(low_m=2000.0, high_m=4000.0)


@pytest.fixture(scope="module")
def terrain() -> Terrain:
    return random_terrain(5, 60)


@pytest.fixture(scope="module")
def best(terrain: Terrain) -> FoundLoop:
    return find_loops(terrain, QUESTION).loops[0]


def shared_m(terrain: Terrain, one: FoundLoop, other: FoundLoop) -> float:
    return sum(terrain.lengths_m[s] for s, _ in set(one.arcs) & set(other.arcs))


def test_dragging_keeps_most_of_the_loop_and_is_legal(terrain: Terrain, best: FoundLoop) -> None:
    ridden = {s for s, _ in best.arcs}
    moved = 0
    for stretch in terrain.network.stretches:
        if stretch.id in ridden:
            continue
        dragged = drag_through(terrain, QUESTION, best.arcs, stretch=stretch.id)
        if dragged is None:
            continue
        moved += 1
        wanted = replace(QUESTION, must=frozenset({stretch.id}))
        assert faults_of(terrain, wanted, dragged.arcs) == ()
        freely = best_with(terrain, QUESTION, stretch.id)
        assert freely is not None
        assert freely.score >= dragged.score - 1e-9
        assert shared_m(terrain, best, dragged) >= shared_m(terrain, best, freely) - 1e-6
    assert moved > 5


def test_leading_around_a_stretch_leaves_it_out(terrain: Terrain, best: FoundLoop) -> None:
    stretch = best.arcs[3][0]
    around = lead_around(terrain, QUESTION, best.arcs, stretch=stretch)
    assert around is not None
    assert stretch not in {s for s, _ in around.arcs}
    freely = best_without(terrain, QUESTION, stretch)
    assert freely is not None
    assert around.score <= freely.score + 1e-9 <= best.score + 2e-9


def test_finishing_keeps_the_locked_piece_in_order(terrain: Terrain, best: FoundLoop) -> None:
    piece = best.arcs[2:5]
    result = finish(terrain, QUESTION, piece)
    assert result.proven
    found = result.loops[0]
    assert found.score == pytest.approx(best.score, abs=1e-9)
    twice = (*found.arcs, *found.arcs)
    assert any(twice[i : i + 3] == piece for i in range(len(found.arcs)))


def test_finishing_a_piece_ridden_the_other_way(terrain: Terrain, best: FoundLoop) -> None:
    piece = tuple((s, w.other) for s, w in reversed(best.arcs[2:5]))
    for found in finish(terrain, QUESTION, piece).loops:
        twice = (*found.arcs, *found.arcs)
        assert any(twice[i : i + 3] == piece for i in range(len(found.arcs)))


def test_faults_name_what_is_wrong(terrain: Terrain, best: FoundLoop) -> None:
    assert faults_of(terrain, QUESTION, best.arcs) == ()
    words = [f.words for f in faults_of(terrain, QUESTION, best.arcs[:4])]
    assert any("breaks off" in w for w in words)
    short = replace(QUESTION, wishes=replace(QUESTION.wishes, min_length_m=3990.0))
    assert any("shorter" in f.words for f in faults_of(terrain, short, best.arcs))
    avoiding = replace(QUESTION, avoid=frozenset({best.arcs[0][0]}))
    assert any("avoided" in f.words for f in faults_of(terrain, avoiding, best.arcs))
    assert faults_of(terrain, QUESTION, ())[0].words == "nothing chosen yet"


def test_parts_account_for_length_and_amounts(terrain: Terrain, best: FoundLoop) -> None:
    parts = parts_of(terrain, QUESTION, best.arcs)
    assert sum(p.length_m for p in parts) == pytest.approx(best.length_m)
    for kind in RACE.targets:
        total = sum(p.amounts.get(kind, 0.0) for p in parts)
        assert total == pytest.approx(best.amounts.get(kind, 0.0))
    match = 100 * best.match
    assert sum(p.cost for p in parts) == pytest.approx(match - best.score)
    assert all(-1e-9 <= p.points <= match + 1e-9 for p in parts)


def test_comparison_adds_up(terrain: Terrain, best: FoundLoop) -> None:
    other = best_without(terrain, QUESTION, best.arcs[0][0])
    assert other is not None
    told = compare(QUESTION, best, other)
    length = 10.0 * (best.length_m - other.length_m) / QUESTION.wishes.max_length_m
    assert told.by_length == pytest.approx(length)
    assert told.in_all == pytest.approx(sum(told.by_kind.values()) + length)
    assert told.in_all < 0
    points = sum(kind_points(RACE, kind, best.amounts) for kind in RACE.targets)
    assert points == pytest.approx(100 * best.match)


def test_plain_words_follow_the_bound(terrain: Terrain) -> None:
    result = find_loops(terrain, QUESTION)
    assert in_plain_words(result) == "no loop on this network under these wishes scores higher"
    wide = replace(result, proven=False, bound=result.loops[0].score + 7.0)
    assert "within 7 points" in in_plain_words(wide)
    assert in_plain_words(replace(result, loops=(), bound=0.0)).startswith(
        "no loop on this network"
    )


def test_front_is_not_beaten_and_reaches_the_best(terrain: Terrain, best: FoundLoop) -> None:
    offers = trade_off(terrain, QUESTION, most_repeats=1)
    assert len(offers) > 1
    assert max(o.loop.score for o in offers) == pytest.approx(best.score, abs=1e-9) or any(
        o.repeated_m > 0 for o in offers
    )
    assert front_of(offers) == offers
    for offer in offers:
        again = replace(QUESTION, wishes=replace(QUESTION.wishes, repeats=1))
        assert faults_of(terrain, again, offer.loop.arcs) == ()


def test_live_amounts_of_a_whole_loop_lack_only_the_closing_passage(
    terrain: Terrain, best: FoundLoop
) -> None:
    live = live_amounts(terrain, best.arcs)
    for kind, value in live.items():
        assert value <= best.amounts[kind] + 1e-9
