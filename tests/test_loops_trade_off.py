"""Weighing match against length and repeats: what is asked for, and what is left out."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from loops_help import Listener, question_of
from loops_tiny import MIX, F, arcs, ground, name
from loopwright.loops.further import FREE, Further, LapTimes
from loopwright.loops.trade_off import Offer, front_of, trade_off
from loopwright.model.ids import Way
from loopwright.model.loops import FoundLoop, SearchResult
from loopwright.model.wishes import Question

ASKED = question_of(MIX, low_m=250.0, high_m=450.0, count=4, seconds=60.0)


class Asked:
    """Stands in for the search and keeps what it was asked."""

    def __init__(self, *loops: FoundLoop, proven: bool = True) -> None:
        self.questions: list[Question] = []
        self.times: list[LapTimes | None] = []
        self.stopped: list[bool] = []
        self.result = SearchResult(loops=loops, bound=0.0, proven=proven, seconds=0.0, most={})

    def __call__(
        self, _: Any, question: Question, *, further: Further, report: Any
    ) -> SearchResult:
        report.best(self.result)
        self.stopped += [report.cancelled(), report.cancelled()]
        self.questions.append(question)
        self.times.append(further.times)
        return self.result


def loop(match: float, length: float, ridden: tuple[Any, ...] = ()) -> FoundLoop:
    return FoundLoop(
        rank=1, arcs=ridden, score=0.0, match=match, length_m=length, ascent_m=0.0, amounts={}
    )


def asked(
    monkeypatch: pytest.MonkeyPatch, stand_in: Asked, question: Question, **more: Any
) -> tuple[Offer, ...]:
    monkeypatch.setattr("loopwright.loops.trade_off.find_loops", stand_in)
    return trade_off(ground(), question, **more)


def test_six_longest_laps_are_tried_for_each_number_of_repeats(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    search, heard = Asked(), Steps()
    wished = replace(ASKED, wishes=replace(ASKED.wishes, repeats=1))
    assert asked(monkeypatch, search, wished, report=heard) == ()
    wishes = [q.wishes for q in search.questions]
    caps = [250.0 + (i + 1) * 200.0 / 6 for i in range(6)]
    assert [w.max_length_m for w in wishes] == pytest.approx([*caps, *caps])
    assert [w.repeats for w in wishes] == [0] * 6 + [1] * 6
    assert {(w.count, w.seconds, w.min_length_m) for w in wishes} == {(1, 10.0, 250.0)}
    assert search.times == [None] * 12
    assert heard.shares == pytest.approx(np.arange(12) / 12)
    assert heard.words == {"weighing match against length"}
    more = Asked()
    asked(monkeypatch, more, wished, most_repeats=0)
    assert len(more.questions) == 6


class Fickle(Listener):
    """Wants to stop when asked for the third time."""

    def __init__(self) -> None:
        super().__init__()
        self.asked = 0

    def cancelled(self) -> bool:
        self.asked += 1
        return self.asked > 2


def test_a_search_for_one_part_hears_that_all_is_to_stop(monkeypatch: pytest.MonkeyPatch) -> None:
    """And what it finds is not told as the best of all."""
    search, report = Asked(), Fickle()
    assert asked(monkeypatch, search, ASKED, report=report) == ()
    assert search.stopped == [False, True]
    assert report.answers == []


class Steps(Listener):
    """Keeps how far a job has come."""

    def __init__(self) -> None:
        super().__init__()
        self.shares, self.words = list[float](), set[str]()

    def step(self, share: float, words: str) -> None:
        self.shares.append(share)
        self.words.add(words)


def test_longest_laps_in_seconds_run_up_from_the_least(monkeypatch: pytest.MonkeyPatch) -> None:
    search = Asked()
    times = LapTimes(seconds={}, low_s=60.0, high_s=120.0)
    asked(monkeypatch, search, ASKED, further=Further(times=times))
    highs = [t.high_s for t in search.times if t is not None]
    assert highs == pytest.approx([70.0, 80.0, 90.0, 100.0, 110.0, 120.0])
    assert {t.low_s for t in search.times if t is not None} == {60.0}


def test_offers_are_scored_under_the_whole_question(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of a lap of 450 m, 200 m and 100 m again cost 10 x 300 / 450 points."""
    twice = loop(0.0, 0.0, arcs((3, F), (3, F)))
    bare = replace(ground(), amounts={}, passages=())
    monkeypatch.setattr("loopwright.loops.trade_off.find_loops", Asked(twice, proven=False))
    (offer,) = trade_off(bare, ASKED)
    assert offer.loop.score == pytest.approx(-10.0 * 300 / 450)
    assert (offer.loop.length_m, offer.repeated_m, offer.proven) == (200.0, 100.0, False)
    seconds = {(name(i), way): 30.0 for i in range(6) for way in Way}
    times = LapTimes(seconds=seconds, low_s=60.0, high_s=120.0)
    (timed,) = trade_off(bare, ASKED, further=replace(FREE, times=times))
    assert timed.loop.score == pytest.approx(-10.0 * 90 / 120)


def offer(match: float, length: float, repeated: float = 0.0) -> Offer:
    return Offer(loop=loop(match, length), repeated_m=repeated, proven=True)


def test_the_front_leaves_out_what_is_beaten_in_all_three() -> None:
    short, long, again = offer(0.5, 300.0), offer(0.9, 400.0), offer(0.8, 300.0, 50.0)
    beaten = offer(0.5, 310.0), offer(0.89, 400.0), offer(0.8, 300.0, 60.0), offer(0.4, 300.0)
    assert front_of([long, *beaten, again, short]) == (again, short, long)
    assert front_of([short, offer(0.5, 300.0)]) == (short,)
    hardly = offer(0.5 - 1e-7, 310.0)
    assert front_of([hardly, short]) == (short,)
    assert front_of([]) == ()
