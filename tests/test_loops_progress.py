"""What one call of the search knows and tells, by hand."""

from __future__ import annotations

import math
import time
from dataclasses import replace

import pytest

from loops_help import Listener, question_of
from loops_tiny import B, F, arcs, ground, name
from loopwright.loops.further import Further, LapTimes
from loopwright.loops.graph import sheet_of
from loopwright.loops.progress import Progress, Stopped, highest_score, named, scored
from loopwright.model.ids import JunctionId, Way
from loopwright.model.wishes import Mix

MIX = Mix(name="one", targets={"corners": 4.0})
ASKED = question_of(MIX, low_m=200.0, high_m=400.0, seconds=60.0)
TRIANGLE, LARGE = arcs((0, F), (1, F), (2, F)), arcs((0, F), (5, B), (4, B), (2, F))


class Impatient(Listener):
    """Wants to stop."""

    def cancelled(self) -> bool:
        return True


def progress(report: Listener | None = None, bound: float = 90.0) -> Progress:
    rich = replace(ground(), amounts={TRIANGLE[1]: {"corners": 2.0}, LARGE[1]: {"corners": 1.0}})
    return Progress(
        terrain=rich, question=ASKED, report=report or Listener(), further=Further(),
        began=time.monotonic(), bound=bound,
    )  # fmt: skip


def test_time_is_up_after_the_wished_seconds(monkeypatch: pytest.MonkeyPatch) -> None:
    known = replace(progress(), began=100.0)
    monkeypatch.setattr(time, "monotonic", lambda: 160.0)
    known.tick()
    assert known.spent() == known.result().seconds == 60.0
    monkeypatch.setattr(time, "monotonic", lambda: 160.5)
    with pytest.raises(Stopped):
        known.tick()


def test_whoever_asks_to_stop_is_heard() -> None:
    with pytest.raises(Stopped):
        progress(Impatient()).tick()


def test_a_best_loop_stands_until_one_as_good_comes() -> None:
    known = progress()
    known.place(1, LARGE)
    assert known.loops[0].score == pytest.approx(100 / 4 - 10)
    known.place(1, TRIANGLE)
    assert [loop.score for loop in known.loops] == pytest.approx([100 / 2 - 7.5])
    known.place(1, LARGE)
    assert known.loops[0].arcs == TRIANGLE
    turned = (*TRIANGLE[1:], TRIANGLE[0])
    known.place(1, turned)
    assert known.loops[0].arcs == turned


def test_a_further_loop_takes_its_rank_and_what_came_after_goes() -> None:
    known = progress()
    known.place(1, TRIANGLE)
    known.place(2, TRIANGLE)
    known.place(3, TRIANGLE)
    known.place(2, LARGE)
    assert [(loop.rank, loop.arcs) for loop in known.loops] == [(1, TRIANGLE), (2, LARGE)]
    assert known.result().bound == 90.0
    known.bound = 42.5
    assert known.result().proven
    known.place(1, LARGE)
    assert len(known.loops) == 2
    known.place(1, TRIANGLE)
    assert [loop.rank for loop in known.loops] == [1]


@pytest.mark.parametrize(
    ("above", "bound", "proven"),
    [(0.005, 0.005, True), (0.012, 0.012, False), (-3.0, 0.0, True), (7.0, 7.0, False)],
)
def test_a_best_loop_within_5_m_of_5_km_of_the_bound_is_proven(
    above: float, bound: float, *, proven: bool
) -> None:
    """5 m of a lap of 5 km cost 0.01 points."""
    known = progress(bound=42.5 + above)
    known.place(1, TRIANGLE)
    known.most = {"corners": 3.0}
    told = known.result()
    assert told.bound == pytest.approx(42.5 + bound)
    assert (told.proven, told.most, told.loops) == (proven, {"corners": 3.0}, tuple(known.loops))
    assert told.most is not known.most


def test_what_is_told_where_no_loop_is_known() -> None:
    for bound, said, proven in ((90.0, 90.0, False), (-5.0, -5.0, False), (-math.inf, 0.0, True)):
        told = progress(bound=bound).result()
        assert (told.loops, told.bound, told.proven) == ((), said, proven)
    heard = Listener()
    progress(heard).tell()
    assert [answer.bound for answer in heard.answers] == [90.0]


def test_the_highest_score_meets_all_at_the_shortest_length() -> None:
    assert highest_score(sheet_of(ground(), ASKED, Further())) == pytest.approx(95.0)


@pytest.mark.parametrize(
    "ridden",
    [TRIANGLE, LARGE, arcs((0, F), (3, B), (1, F), (2, F)), arcs((0, B), (2, B), (1, B))],
)
def test_one_loop_is_written_one_way(ridden: tuple[tuple[str, Way], ...]) -> None:
    free = sheet_of(ground(), ASKED, Further())
    numbers = [free.arcs.index(arc) for arc in ridden]
    for start in (None, "j0", "j1"):
        question = replace(ASKED, start_at=start and JunctionId(start))
        sheet = sheet_of(ground(), question, Further())
        turns = [(*numbers[i:], *numbers[:i]) for i in range(len(numbers))]
        (written,) = {named(sheet, turn) for turn in turns}
        tails = [sheet.junctions[sheet.graph.tail[turn[0]]] for turn in turns]
        fitting = [turn for turn, tail in zip(turns, tails, strict=True) if start in {None, tail}]
        assert written == tuple(sheet.arcs[a] for a in min(fitting))


def test_seconds_are_priced_in_place_of_metres() -> None:
    """30 s, and 30 again at twice the price, of 120; a match of none."""
    seconds = {(name(i), way): 20.0 + 10.0 * (i == 3) for i in range(6) for way in Way}
    further = Further(times=LapTimes(seconds=seconds, low_s=10.0, high_s=120.0))
    twice = scored(ground(), ASKED, further, arcs((3, F), (3, F)), rank=2)
    bare = replace(ground(), amounts={})
    assert scored(bare, ASKED, further, arcs((3, F), (3, F))).score == pytest.approx(-7.5)
    assert twice.score == pytest.approx(100 * twice.match - 7.5)
    assert (twice.rank, twice.length_m) == (2, 200.0)
    mixed = scored(bare, ASKED, further, arcs((0, F), (3, F), (3, F), (1, F)))
    assert mixed.score == pytest.approx(-10.0 * (20 + 30 + 60 + 20) / 120)
    assert mixed.rank == 1
