"""What the front doors of the search ask for, and what is said of loops found."""

from __future__ import annotations

import sys
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import pytest

from loops_help import Listener, question_of
from loops_reference import every_loop
from loops_tiny import F, arcs, ground, name
from loopwright.loops import find as front
from loopwright.loops.by_hand import DRAG_S, KEEP_WEIGHT, KEPT, drag_through
from loopwright.loops.explain import (
    ASK_S,
    best_with,
    best_without,
    in_plain_words,
    kind_points,
    parts_of,
)
from loopwright.loops.find import compiled_here, find_loops, roughly_most
from loopwright.loops.further import Further, LapTimes
from loopwright.loops.graph import sheet_of
from loopwright.loops.progress import Stopped
from loopwright.loops.score import score_loop
from loopwright.model.ground import Passage, Terrain
from loopwright.model.ids import Way
from loopwright.model.loops import SearchResult
from loopwright.model.wishes import Mix, Question

MIX = Mix(name="two", targets={"corners": 10.0, "steady_m": 100.0}, weights={"corners": 3.0})
ASKED = question_of(MIX, low_m=250.0, high_m=400.0)
TRIANGLE = arcs((0, F), (1, F), (2, F))


def measured() -> Terrain:
    """The ground of two triangles with a few round amounts."""
    amounts = {
        arcs((0, F))[0]: {"corners": 2.0},
        arcs((1, F))[0]: {"corners": 1.0, "steady_m": 30.0},
    }
    passages = (
        Passage(
            before=arcs((1, F))[0], after=arcs((2, F))[0], amounts={"corners": 1.0, "funnels": 4.0}
        ),
        Passage(before=arcs((2, F))[0], after=arcs((0, F))[0], amounts={"steady_m": 20.0}),
    )
    return replace(ground(), amounts=amounts, passages=passages)


def test_parts_of_a_loop_by_hand() -> None:
    """Corners weigh 75 points to 10, steady riding 25 to 100 m; 100 m of 400 cost 2.5."""
    parts = parts_of(measured(), ASKED, TRIANGLE)
    assert [p.amounts for p in parts] == [
        {"corners": 2.0}, {"corners": 2.0, "steady_m": 30.0, "funnels": 4.0}, {"steady_m": 20.0},
    ]  # fmt: skip
    assert [p.points for p in parts] == pytest.approx([15.0, 22.5, 5.0])
    assert [p.cost for p in parts] == pytest.approx([2.5, 2.5, 2.5])
    assert [p.length_m for p in parts] == [100.0] * 3


def test_points_of_a_kind_end_at_its_share() -> None:
    assert kind_points(MIX, "corners", {}) == 0.0
    assert kind_points(MIX, "corners", {"corners": 4.0}) == pytest.approx(30.0)
    assert kind_points(MIX, "corners", {"corners": 99.0}) == pytest.approx(75.0)


def test_the_best_of_several_is_what_is_spoken_of() -> None:
    first = next(every_loop(ground(), question_of(MIX, low_m=1.0, high_m=1e4)))
    two = (replace(first, score=50.0), replace(first, score=20.0, rank=2))
    found = SearchResult(loops=two, bound=50.5, proven=False, seconds=1.0, most={})
    assert in_plain_words(found) == "at most 0.50 points below the best possible"


class Asked:
    """Stands in for the search and keeps what it was asked."""

    def __init__(self) -> None:
        self.questions: list[Question] = []
        self.terrains: list[Terrain] = []

    def __call__(self, terrain: Terrain, question: Question, **_: Any) -> SearchResult:
        self.questions.append(question)
        self.terrains.append(terrain)
        return SearchResult(loops=(), bound=0.0, proven=True, seconds=0.0, most={})


def test_questions_beside_the_main_one_are_short(monkeypatch: pytest.MonkeyPatch) -> None:
    asked = Asked()
    monkeypatch.setattr("loopwright.loops.explain.find_loops", asked)
    many = replace(ASKED, wishes=replace(ASKED.wishes, count=5), must=frozenset({name(1)}))
    assert best_without(ground(), many, name(1)) is None
    hasty = replace(many, wishes=replace(many.wishes, seconds=0.5), avoid=frozenset({name(2)}))
    assert best_with(ground(), hasty, name(2)) is None
    without, with_it = asked.questions
    assert (without.wishes.count, without.wishes.seconds) == (1, ASK_S)
    assert (without.must, without.avoid) == (frozenset(), frozenset({name(1)}))
    assert with_it.wishes.seconds == 0.5
    assert (with_it.must, with_it.avoid) == (frozenset({name(1), name(2)}), frozenset())


def test_a_dragged_loop_is_asked_to_keep_itself(monkeypatch: pytest.MonkeyPatch) -> None:
    asked = Asked()
    monkeypatch.setattr("loopwright.loops.by_hand.find_loops", asked)
    many = replace(ASKED, wishes=replace(ASKED.wishes, count=5))
    assert drag_through(measured(), many, TRIANGLE, stretch=name(3)) is None
    (question,), (terrain,) = asked.questions, asked.terrains
    assert question.must == {name(3)}
    assert (question.wishes.count, question.wishes.seconds) == (1, DRAG_S)
    assert question.wishes.mix.targets == {"corners": 10.0, "steady_m": 100.0, KEPT: 300.0}
    assert question.wishes.mix.weights == {"corners": 3.0, "steady_m": 1.0, KEPT: 4 * KEEP_WEIGHT}
    assert terrain.amounts[TRIANGLE[0]] == {"corners": 2.0, KEPT: 100.0}
    assert terrain.amounts[TRIANGLE[2]] == {KEPT: 100.0}
    assert KEPT not in measured().amounts[TRIANGLE[0]]
    assert DRAG_S <= 2.0
    assert ASK_S <= 2.0


@pytest.mark.parametrize(
    ("module", "here"),
    [
        (None, False), (SimpleNamespace(dive=SimpleNamespace(signatures=[])), False),
        (SimpleNamespace(dive=SimpleNamespace(signatures=[1])), True),
        (SimpleNamespace(dive=SimpleNamespace()), True),
        (SimpleNamespace(), False),
    ],
    ids=["not loaded", "not compiled", "compiled", "compiling switched off", "half loaded"],
)  # fmt: skip
def test_whether_the_kernels_are_at_hand(
    monkeypatch: pytest.MonkeyPatch, module: Any, *, here: bool
) -> None:
    monkeypatch.setitem(sys.modules, "loopwright.loops.dive", module)
    assert compiled_here() is here


def test_while_the_kernels_compile_a_good_loop_is_shown(monkeypatch: pytest.MonkeyPatch) -> None:
    compiled: list[int] = []
    monkeypatch.setattr(front, "compiled_here", lambda: False)
    monkeypatch.setattr(front, "_compile", lambda: compiled.append(1))
    monkeypatch.setattr(front, "_search", lambda *_: None)
    heard = Listener()
    result = find_loops(measured(), ASKED, report=heard)
    assert compiled == [1]
    assert heard.answers
    assert heard.answers[-1].loops == result.loops
    assert not result.proven
    best = max(every_loop(measured(), ASKED), key=lambda loop: loop.score)
    assert result.loops[0].score == pytest.approx(best.score)
    assert (
        find_loops(measured(), replace(ASKED, avoid=frozenset({name(3), name(0), name(4)}))).loops
        == ()
    )
    assert compiled == [1, 1]
    monkeypatch.setattr(front, "compiled_here", lambda: True)
    assert find_loops(measured(), ASKED).loops == ()
    assert compiled == [1, 1]


def test_a_stopped_search_tells_what_it_has(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[int] = []

    def stopped(_progress: Any, _sheet: Any, workers: int) -> None:
        asked.append(workers)
        raise Stopped

    monkeypatch.setattr(front, "_search", stopped)
    monkeypatch.setattr(front, "compiled_here", lambda: True)
    monkeypatch.setattr(front, "cores", lambda: 7)
    heard = Listener()
    find_loops(measured(), ASKED, report=heard, workers=3)
    find_loops(measured(), ASKED, report=heard)
    assert asked == [3, 7]
    assert len(heard.answers) == 2


def test_a_score_by_hand_also_of_what_is_ridden_again() -> None:
    """Match (3 x 4/10 + 1 x 50/100) / 4; 300 m of 400 cost 7.5, and 100 m again 2.5 twice."""
    loop = score_loop(measured(), MIX, max_length_m=400.0, arcs=TRIANGLE)
    assert loop.match == pytest.approx((3 * 0.4 + 0.5) / 4)
    assert loop.score == pytest.approx(100 * loop.match - 7.5)
    assert loop.amounts == {"corners": 4.0, "steady_m": 50.0, "funnels": 4.0}
    ring = score_loop(measured(), MIX, max_length_m=400.0, arcs=arcs((3, F), (3, F)))
    assert (ring.match, ring.length_m) == (0.0, 200.0)
    assert ring.score == pytest.approx(-7.5)


def test_what_no_loop_can_meet_is_told_before_searching() -> None:
    def hopeless(**changes: Any) -> bool:
        return sheet_of(ground(), replace(ASKED, **changes), Further()).hopeless

    assert not hopeless()
    assert not hopeless(start_at="j0")
    assert not hopeless(must=frozenset({name(1)}), start_at="j3")
    assert hopeless(start_at="nowhere")
    assert hopeless(must=frozenset({name(1), name(9)}))
    assert hopeless(must=frozenset({name(1)}), avoid=frozenset({name(1)}))
    assert hopeless(avoid=frozenset(name(i) for i in range(6)))


def test_an_arc_without_a_predicted_time_is_not_ridden() -> None:
    seconds = {(name(i), way): 30.0 for i in range(6) for way in Way}
    del seconds[name(1), F]
    times = LapTimes(seconds=seconds, low_s=60.0, high_s=120.0)
    sheet = sheet_of(ground(), ASKED, Further(times=times))
    assert (name(1), F) not in sheet.arcs
    assert len(sheet.arcs) == 11
    assert sheet.graph.length.tolist() == [30.0] * 11


@pytest.mark.parametrize(("low", "high"), [(300.0, 300.0), (100.0, 300.0), (300.0, 390.0)])
def test_a_lap_as_long_as_the_window_ends_is_inside(low: float, high: float) -> None:
    asked = replace(question_of(MIX, low_m=low, high_m=high), must=frozenset({name(2)}))
    result = find_loops(ground(), asked)
    assert [loop.length_m for loop in result.loops] == [300.0]


def test_the_most_on_offer_is_at_most_all_there_is() -> None:
    sheet = sheet_of(measured(), question_of(MIX, low_m=1.0, high_m=1e6), Further())
    most = roughly_most(sheet, MIX)
    per_link = {"corners": 1.0, "steady_m": 20.0}
    for kind, own in (("corners", 3.0), ("steady_m", 30.0)):
        assert most[kind] == pytest.approx(own + len(sheet.arcs) * per_link[kind])
    short = sheet_of(measured(), question_of(MIX, low_m=1.0, high_m=150.0), Further())
    assert roughly_most(short, MIX)["corners"] == pytest.approx(3.0 + 0.5 * 2.0, abs=1e-3)
