"""How long one root is tuned thoroughly, and when its search begins anew: told with a stand-in for
the tuning itself, which has tests of its own."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import repeat

import pytest

from loops_tiny import roots, small_sheet
from loopwright.loops import hunt as room
from loopwright.loops.crew import Crew
from loopwright.loops.hunt import Dig, Hunt, Root, bucket_for, no_loop
from loopwright.loops.shapes import Found, Stride
from loopwright.loops.tables import budgets, in_buckets

SHEET = small_sheet(0)
TOP, BEST, GAP = 60.0, 40.0, 0.5
MANY = 10**12
"""Nodes that pay for any number of rounds."""


class Told(Hunt):
    """A search whose tuning closes what it is told to, and tells how it was asked."""

    def __init__(self, tops: Iterator[float], tick: Callable[[], None] = lambda: None) -> None:
        order = roots(SHEET)[:1]
        super().__init__(SHEET.graph, SHEET.rule, order, roam=False, tops=[TOP], crew=Crew(1, tick))
        self.tops, self.asked = tops, list[tuple[float, int, float]]()

    def _tune(
        self, root: Root, found: Found, part: float, looks: int, gap: float,
        *, stride: Stride | None = None,
    ) -> None:  # fmt: skip
        assert stride is not None
        assert (found.score[0], gap) == (BEST, GAP)
        self.asked.append((part, looks, stride.memory))
        near = self._near(root)
        near.top = next(self.tops)
        root.bound = min(root.bound, near.top)


def settled(hunt: Told, nodes: int, *, rounds: int = 0) -> tuple[Root, Dig]:
    """One root settled once; also gives the search it had before."""
    (root,) = hunt.roots
    near = hunt._near(root)
    near.top, root.nodes, root.rounds = TOP, nodes, rounds
    before = root.dig = hunt._prepared(root, room.FINE)
    found = no_loop(99)
    found.score[0] = BEST
    hunt._settle(root, before, found, GAP)
    return root, before


def cells() -> int:
    """Places in one tuning table of the root: budgets by arcs and links."""
    near = Told(repeat(TOP))
    local = near._near(near.roots[0]).local
    width = bucket_for(local, room.FINE, SHEET.rule.cap)
    spare = in_buckets(local, SHEET.rule, width).spare
    return budgets(SHEET.rule, width, spare) * (local.length.size + local.succ.size)


def falling(by: float) -> Iterator[float]:
    """Bounds that close a share of what is open each time."""
    top = TOP
    while True:
        top -= by * (top - BEST)
        yield top


def test_it_is_tuned_half_as_long_as_it_was_searched() -> None:
    """A node pays for 20 places of a table; a round of 16 looks fills its table 16 times."""
    for rounds in (0, 1, 3):
        for short, want in ((1, rounds), (0, rounds + 1)):
            nodes = -(-(rounds + 1) * 16 * cells() // 20) - short
            hunt = Told(falling(0.02))
            root, _ = settled(hunt, nodes)
            assert hunt.asked == [(room.FINE, 16, 0.6)] * want
            assert root.rounds == want


def test_it_is_never_tuned_for_more_than_sixty_rounds() -> None:
    hunt = Told(falling(0.02))
    root, _ = settled(hunt, MANY)
    assert (len(hunt.asked), root.rounds) == (60, 60)
    root, _ = settled(hunt, MANY, rounds=58)
    assert (len(hunt.asked), root.rounds) == (62, 60)


@pytest.mark.parametrize(("tables", "looks"), [(20.0, 16), (9.5, 9), (2.0, 4), (0.1, 4)])
def test_a_round_has_as_many_looks_as_can_be_stopped_in_time(
    monkeypatch: pytest.MonkeyPatch, tables: float, looks: int
) -> None:
    """From 4 to 16 looks, between them as many as fill so many tables."""
    monkeypatch.setattr(room, "ROUND_CELLS", int(tables * cells()))
    hunt = Told(falling(0.02))
    settled(hunt, MANY, rounds=59)
    assert hunt.asked == [(room.FINE, looks, 0.6)]


def test_it_ends_with_a_round_that_closes_little_but_not_with_the_first() -> None:
    """Less than one part in a hundred of the 20 points that are open."""
    for closed, want in ((0.0099, 2), (0.0102, 60)):
        hunt = Told(falling(closed))
        root, _ = settled(hunt, MANY)
        assert (len(hunt.asked), root.rounds) == (want, 60)
    hunt = Told(iter((TOP, *(TOP - k for k in range(1, 5)), TOP - 4.0)))
    root, _ = settled(hunt, MANY)
    assert (len(hunt.asked), root.rounds) == (6, 60)


def test_before_the_first_loop_as_much_is_open_as_a_step_aims_at() -> None:
    found = no_loop(9)
    assert room._open(60.0, found) == 20.0
    found.score[0] = 45.0
    assert room._open(60.0, found) == 15.0
    found.score[0] = 10.0
    assert room._open(60.0, found) == 20.0


def test_steps_are_quick_unless_told_otherwise(monkeypatch: pytest.MonkeyPatch) -> None:
    given = list[Stride]()

    def tune(*words: object) -> float:
        stride = words[-1]
        assert isinstance(stride, Stride)
        given.append(stride)
        return TOP

    monkeypatch.setattr(room, "tune", tune)
    order = roots(SHEET)[:1]
    hunt = Hunt(SHEET.graph, SHEET.rule, order, roam=False, tops=[TOP], crew=Crew(1, lambda: None))
    (root,) = hunt.roots
    hunt._tune(root, no_loop(99), room.COARSE, 4, GAP)
    hunt._tune(root, no_loop(99), room.FINE, 4, GAP, stride=hunt._near(root).stride)
    paces = [(stride.pace.tolist(), stride.patience, stride.memory) for stride in given]
    assert paces == [([1.0], 1, 0.0), ([1.0], 5, 0.6)]


def test_it_ends_when_nothing_is_open_or_somebody_stops_it() -> None:
    hunt = Told(iter((BEST + GAP + 0.1, BEST + GAP)))
    settled(hunt, MANY)
    assert len(hunt.asked) == 2

    def stop() -> None:
        stopped.crew.stopping = True

    stopped = Told(falling(0.02), tick=stop)
    settled(stopped, MANY)
    assert len(stopped.asked) == 1


@pytest.mark.parametrize("closed", [9.9, 10.1])
def test_a_search_begins_anew_when_half_of_what_was_open_is_closed(closed: float) -> None:
    root, before = settled(Told(iter((TOP - closed, TOP - closed))), MANY)
    assert root.dig is not None
    assert (root.dig is not before) == (closed > 10.0)
    assert root.dig.top == (TOP - closed if closed > 10.0 else TOP)
