"""Small parts of the search and of what is said of loops, one by one."""

from __future__ import annotations

import os
import threading
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from loops_help import question_of
from loops_reference import every_loop
from loops_tiny import (
    MIX,
    B,
    F,
    arcs,
    everywhere,
    ground,
    loops_from,
    name,
    near,
    roots,
    tiny_sheet,
)
from loopwright.loops.by_hand import _locked_terrain, drag_through, finish, in_a_row, live_amounts
from loopwright.loops.crew import Crew, cores
from loopwright.loops.explain import in_plain_words
from loopwright.loops.further import Further, LapTimes
from loopwright.loops.graph import sheet_of
from loopwright.loops.head_on import head_on_pairs
from loopwright.loops.hunt import FINEST, Dig, Hunt, bucket_for, fresh_path, no_loop, take_over
from loopwright.loops.legal import faults_of
from loopwright.loops.progress import PROVEN_GAP
from loopwright.loops.quick import quick_loops
from loopwright.loops.tables import build_tables
from loopwright.loops.trade_off import STEPS, trade_off
from loopwright.model.ground import Passage, Terrain
from loopwright.model.ids import Arc, JunctionId, Way, Ways
from loopwright.model.loops import SearchResult
from loopwright.model.wishes import Question

ASKED = question_of(MIX, low_m=250.0, high_m=450.0)
TRIANGLE = arcs((0, F), (1, F), (2, F))


def said(terrain: Terrain, question: Question, ridden: tuple[Arc, ...]) -> list[tuple[str, str]]:
    return [(f.words, f.stretch or "") for f in faults_of(terrain, question, ridden)]


def test_a_legal_loop_has_no_faults() -> None:
    assert said(ground(), ASKED, TRIANGLE) == []
    assert said(ground(), ASKED, arcs((0, F), (3, B), (1, F), (2, F))) == []


def again(count: int) -> str:
    return f"{count} stretches are ridden again, 0 at most are wished"


BOTH = ("is ridden both ways: riders would meet head-on", name(3))
FAULTY: dict[str, tuple[tuple[Arc, ...], list[tuple[str, str]]]] = {
    "straight back": (
        arcs((0, F), (3, F), (3, B), (1, F), (2, F)),
        [("turns straight back", name(3)), BOTH, (again(1), ""),
         ("50 m longer than wished", "")],
    ),
    "breaks off": (
        arcs((0, F), (1, F), (4, F)), [("the loop breaks off after this stretch", name(4))],
    ),
    "too short": (arcs((3, F)), [("150 m shorter than wished", "")]),
    "three times": (
        arcs((3, F), (3, F), (3, F)),
        [("is ridden more than twice", name(3)), (again(2), "")],
    ),
    "nothing": ((), [("nothing chosen yet", "")]),
    "unknown": (arcs((9, F), (0, F)), [("not in this network", name(9))]),
}  # fmt: skip


@pytest.mark.parametrize(("ridden", "words"), FAULTY.values(), ids=FAULTY.keys())
def test_each_fault_has_its_words(ridden: tuple[Arc, ...], words: list[tuple[str, str]]) -> None:
    assert said(ground(), ASKED, ridden) == words


def test_faults_against_the_wishes() -> None:
    closed = ground(s0001={"ways": Ways.BACKWARD}, s0002={"unridden": True})
    must = replace(ASKED, must=frozenset({name(5), name(4)}), avoid=frozenset({name(0)}))
    assert said(closed, replace(must, start_at=JunctionId("j3")), TRIANGLE) == [
        ("is to be avoided", name(0)),
        ("may not be ridden this way", name(1)),
        ("is not ridden yet", name(2)),
        ("must be ridden and is not", name(4)),
        ("must be ridden and is not", name(5)),
        ("does not pass the start", ""),
    ]
    drawn = replace(ASKED, wishes=replace(ASKED.wishes, use_unridden=True))
    assert said(ground(s0002={"unridden": True}), drawn, TRIANGLE) == []
    assert said(ground(), replace(ASKED, start_at=JunctionId("j2")), TRIANGLE) == []


def test_a_banned_turn_and_repeats_up_to_what_is_wished() -> None:
    ban = Passage(before=(name(2), F), after=(name(0), F), allowed=False)
    assert said(replace(ground(), passages=(ban,)), ASKED, TRIANGLE) == [
        ("this turn is not allowed", name(2))
    ]
    free = replace(ground(), passages=(replace(ban, allowed=True),))
    assert said(free, ASKED, TRIANGLE) == []
    twice = arcs((3, F), (3, F))
    for repeats, fine in ((0, False), (1, True)):
        wishes = replace(ASKED.wishes, min_length_m=200.0, repeats=repeats)
        assert (said(ground(), replace(ASKED, wishes=wishes), twice) == []) is fine


@pytest.mark.parametrize(("high", "words"), [(300.0, []), (299.0, ["1 m longer than wished"])])
def test_the_window_is_kept_to_a_hair(high: float, words: list[str]) -> None:
    question = question_of(MIX, low_m=200.0, high_m=high)
    assert [w for w, _ in said(ground(), question, TRIANGLE)] == words


@pytest.mark.parametrize(
    ("row", "ways"),
    [
        ([0, 1, 2], "FFF"), ([2, 1, 0], "BBB"), ([1, 0], "BB"), ([0, 2], "BB"), ([3, 1], "FF"),
        ([0, 3, 1], "FFF"), ([0], "F"), ([0, 4], "FF"), ([9, 0, 8, 1], "FF"), ([], ""),
        ([1, 4, 5], "FFF"), ([5, 4, 2], "BBF"),
    ],
)  # fmt: skip
def test_stretches_in_a_row_are_ridden_on(row: list[int], ways: str) -> None:
    got = in_a_row(ground(), [name(i) for i in row])
    assert "".join("F" if way is F else "B" for _, way in got) == ways
    assert [s for s, _ in got] == [name(i) for i in row if i < 6]


@pytest.mark.parametrize(
    ("row", "ways"), [([4, 3], "FF"), ([2, 4, 5], "BFF"), ([3, 0, 3], "FBF"), ([0, 3, 0], "FFB")]
)
def test_stretches_that_do_not_touch_are_ridden_as_drawn(row: list[int], ways: str) -> None:
    got = in_a_row(ground(), [name(i) for i in row])
    assert "".join("F" if way is F else "B" for _, way in got) == ways


def test_locked_stretches_have_one_way_and_one_way_on() -> None:
    """0 then 1, then a gap: after 0 only 1 may follow, before 1 only 0 may come."""
    free = Passage(before=(name(0), F), after=(name(1), F), amounts={"corners": 2.0})
    lost = Passage(before=(name(0), F), after=(name(3), B), amounts={"corners": 1.0})
    locked = arcs((0, F), (1, F), (5, B), (9, F))
    made = _locked_terrain(replace(ground(), passages=(free, lost)), locked)
    ways = {s.id: s.ways for s in made.network.stretches}
    assert [ways[name(i)] for i in range(6)] == [
        Ways.FORWARD, Ways.FORWARD, Ways.BOTH, Ways.BOTH, Ways.BOTH, Ways.BACKWARD,
    ]  # fmt: skip
    assert made.passages[0] == free
    banned = [(p.before, p.after) for p in made.passages[1:]]
    assert banned == sorted(banned, key=lambda pair: tuple(str(x) for arc in pair for x in arc))
    onward = arcs((0, B), (3, F), (3, B), (5, B))
    coming = arcs((1, B), (3, F), (3, B), (5, F))
    assert set(banned) == {(arcs((0, F))[0], a) for a in onward} | {
        (a, arcs((1, F))[0]) for a in coming
    }
    assert not any(p.allowed for p in made.passages[1:])


def test_amounts_of_a_row_add_up_with_the_passages_between() -> None:
    whole = replace(ground(), amounts={
        (name(0), F): {"corners": 1.0, "steady_m": 5.0}, (name(1), F): {"corners": 10.0},
    }, passages=(
        Passage(before=(name(0), F), after=(name(1), F), amounts={"corners": 100.0}),
        Passage(before=(name(1), F), after=(name(0), F), amounts={"corners": 1000.0}),
    ))  # fmt: skip
    assert live_amounts(whole, arcs((0, F), (1, F), (2, F))) == {"corners": 111.0, "steady_m": 5.0}


def test_a_locked_row_that_may_not_be_ridden_has_no_loop() -> None:
    assert finish(ground(), ASKED, arcs((0, F), (1, F))).loops[0].length_m <= 450.0
    closed = ground(s0001={"ways": Ways.BACKWARD})
    assert finish(closed, ASKED, arcs((0, F), (1, F))).loops == ()
    assert drag_through(ground(), ASKED, TRIANGLE, stretch=name(4)) is not None


@pytest.mark.parametrize(
    ("gap", "words"),
    [
        (1.0, "within 1 points of the best possible; more time may find a better one"),
        (0.99, "at most 0.99 points below the best possible"),
        (0.001, f"at most {PROVEN_GAP:.2f} points below the best possible"),
    ],
)
def test_how_far_from_the_best_possible(gap: float, words: str) -> None:
    loop = next(every_loop(ground(), ASKED))
    found = SearchResult(
        loops=(loop,), bound=loop.score + gap, proven=False, seconds=1.0, most={}
    )  # fmt: skip
    assert in_plain_words(found) == words
    assert "still open" in in_plain_words(replace(found, loops=()))


class Told:
    """Counts what it is told, and asks to stop after a few parts."""

    def __init__(self, parts: int) -> None:
        self.left, self.shares = parts, list[float]()

    def step(self, share: float, words: str) -> None:
        if "weighing" in words:
            self.shares.append(share)

    def best(self, result: object) -> None:  # noqa: ARG002 - as every report has it
        message = "the best of one part is not the best of all"
        raise AssertionError(message)

    def check(self) -> None: ...

    def cancelled(self) -> bool:
        return len(self.shares) >= self.left


def test_a_stopped_weighing_gives_what_it_has() -> None:
    told = Told(3)
    some = trade_off(ground(), ASKED, report=told)
    assert told.shares == pytest.approx([0, 1 / STEPS, 2 / STEPS])
    whole = trade_off(ground(), ASKED, report=Told(99))
    assert whole
    assert len(some) <= len(whole)


def test_weighing_in_predicted_seconds_keeps_the_window() -> None:
    seconds = {(name(i), way): 20.0 + 5.0 * i for i in range(6) for way in Way}
    times = LapTimes(seconds=seconds, low_s=60.0, high_s=120.0)
    wide = question_of(MIX, low_m=1.0, high_m=1e5)
    offers = trade_off(ground(), wide, further=Further(times=times))
    assert offers
    for offer in offers:
        assert 60.0 <= sum(seconds[a] for a in offer.loop.arcs) <= 120.0


def test_crew_on_a_system_that_does_not_tell_its_cores(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delattr(os, "sched_getaffinity", raising=False)
    monkeypatch.setattr(os, "cpu_count", lambda: 7)
    assert cores() == 7
    monkeypatch.setattr(os, "cpu_count", lambda: None)
    assert cores() == 1


@pytest.mark.parametrize("workers", [1, 3])
def test_a_crew_does_every_task_and_tells_what_went_wrong(workers: int) -> None:
    done: list[int] = []

    def task(i: int) -> Callable[[], None]:
        return lambda: done.append(i)

    with Crew(workers, lambda: None) as crew:
        crew.all([task(i) for i in range(5)])
        assert sorted(done) == [0, 1, 2, 3, 4]
        assert not crew.stopping
        with pytest.raises(ZeroDivisionError):
            crew.all([task(5), lambda: [][1 // 0]])


def test_a_stopped_crew_waits_for_its_tasks() -> None:
    gate, ended = threading.Event(), list[bool]()
    ticks = iter([None, None])

    def tick() -> None:
        try:
            next(ticks)
        except StopIteration:
            gate.set()
            raise KeyboardInterrupt from None

    def work() -> None:
        gate.wait(20)
        ended.append(crew.stopping)

    with Crew(2, tick) as crew:
        with pytest.raises(KeyboardInterrupt):
            crew.all([work, work])
        assert len(ended) == 2
        assert crew.stopping


def test_only_a_lone_worker_is_checked_from_within() -> None:
    calls: list[str] = []
    with (
        Crew(1, lambda: calls.append("lone")) as lone,
        Crew(2, lambda: calls.append("pair")) as two,
    ):
        lone.check()
        two.check()
        assert calls == ["lone"]
        lone.all([lambda: calls.append("a"), lambda: calls.append("b")])
    assert calls == ["lone", "a", "lone", "b", "lone"]
    assert two._pool is not None
    with pytest.raises(RuntimeError, match="shutdown"):
        two._pool.submit(print)


@pytest.mark.parametrize("seed", range(0, 36, 4))
def test_buckets_are_as_fine_as_short_stretches_need(seed: int) -> None:
    sheet = tiny_sheet(seed)
    local, cap = near(sheet, 0), sheet.rule.cap
    width = bucket_for(local, 0.5, cap)
    gained = np.maximum(0.0, width - local.length).sum() / 2
    wider = np.maximum(0.0, 1.5 * width - local.length).sum() / 2
    assert width <= 0.5 * cap
    assert gained <= 0.04 * cap or width <= FINEST * cap
    assert width == 0.5 * cap or wider > 0.04 * cap
    many = local._replace(length=np.full(400_000, 0.001 * cap))
    assert FINEST * cap / 1.5 < bucket_for(many, 0.5, cap) <= FINEST * cap


def test_a_better_loop_is_taken_over_and_no_other() -> None:
    mine, other = no_loop(4), no_loop(4)
    other.score[0], other.size[0], other.arcs[:2] = 5.0, 2, [7, 8]
    take_over(mine, other)
    assert (mine.score[0], mine.size.tolist(), mine.arcs.tolist()) == (5.0, [2, 1], [7, 8, 0, 0])
    other.arcs[0] = 1
    take_over(mine, other)
    assert mine.size[1] == 1
    assert mine.arcs[0] == 7


def test_searches_put_aside_make_room_and_begin_again(monkeypatch: pytest.MonkeyPatch) -> None:
    sheet = tiny_sheet(27)
    with Crew(1, lambda: None) as crew:
        hunt = Hunt(sheet.graph, sheet.rule, [0, 1, 2], roam=False, tops=[1e3] * 3, crew=crew)
        local = near(sheet, 0)
        whole = build_tables(
            local, sheet.rule, np.zeros((1, sheet.rule.most.size + 1 + local.stretches)), 100.0
        )
        table = whole._replace(best=np.zeros((2, 5, 5), np.float32))
        for root in hunt.roots:
            root.dig = Dig(table, fresh_path(local, sheet.rule, 1), 0.0)
        monkeypatch.setattr("loopwright.loops.hunt.KEPT_BYTES", 2 * table.best.nbytes)
        hunt._make_room(hunt.roots[:1])
        assert [root.dig is None for root in hunt.roots] == [False, False, False]
        monkeypatch.setattr("loopwright.loops.hunt.KEPT_BYTES", 2 * table.best.nbytes - 1)
        hunt._make_room(hunt.roots[:1])
        assert [root.dig is None for root in hunt.roots] == [False, True, True]


@pytest.mark.parametrize("seed", range(12))
def test_a_hunt_finds_the_best_and_its_bound_is_never_below(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    sheet = tiny_sheet(seed)
    if seed % 2:  # a few nodes at a time: roots are left and taken up again
        monkeypatch.setattr("loopwright.loops.hunt.SLICE_NODES", 2)
    best = max(
        (loop.score for r in roots(sheet)
         for loop in loops_from(sheet.graph, sheet.rule, r, everywhere(sheet))),
        default=-np.inf,
    )  # fmt: skip
    order = sheet.rule.musts and [int(sheet.graph.tail[np.argmax(sheet.graph.must >= 0)])]
    with Crew(1, lambda: None) as crew:
        hunt = Hunt(
            sheet.graph, sheet.rule, order or roots(sheet), roam=not order,
            tops=[200.0] * len(order or roots(sheet)), crew=crew,
        )  # fmt: skip
        assert hunt.bound == 200.0
        hunt.run(5.0, turns=0)
        assert hunt.bound >= best >= hunt.best - 1e-6
        hunt.settle(0.0)
        assert hunt.best == pytest.approx(best, abs=1e-6)
        assert hunt.bound == pytest.approx(best, abs=1e-6)


def test_the_quick_search_keeps_foes_apart_and_only_betters() -> None:
    for seed in (4, 9, 14, 19, 24):
        sheet = tiny_sheet(seed)
        ticks: list[int] = []
        found = list(quick_loops(sheet, lambda: ticks.append(1)))  # noqa: B023 - used at once
        graph = sheet.graph
        for loop in found:
            rows = (graph.foe[graph.foe_first[a] : graph.foe_first[a + 1]] for a in loop)
            foes = {int(b) for row in rows for b in row}
            assert foes.isdisjoint(loop)
        assert len(ticks) >= len(found)


def test_the_quick_search_ends_where_a_lap_never_gets_too_long(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("loopwright.loops.quick.DEPTHS", 2)
    sheet = sheet_of(ground(), ASKED, Further())
    assert all(len(loop) <= 2 for loop in quick_loops(sheet, lambda: None))


def test_foes_of_what_the_question_leaves_out_are_nobodys() -> None:
    apart = frozenset({((name(0), F), (name(1), F)), ((name(0), F), (name(9), F))})
    sheet = sheet_of(ground(), replace(ASKED, avoid=frozenset({name(2)})), Further(apart=apart))
    place = {arc: i for i, arc in enumerate(sheet.arcs)}
    assert sheet.graph.foe.tolist() == [place[name(1), F], place[name(0), F]]
    assert np.diff(sheet.graph.foe_first)[[place[name(0), F], place[name(1), F]]].tolist() == [1, 1]


def test_no_ground_has_nothing_head_on() -> None:
    bare = replace(ground(), network=replace(ground().network, stretches=()))
    assert head_on_pairs(bare, within_m=8.0) == frozenset()
