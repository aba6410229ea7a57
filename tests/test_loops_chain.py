"""The order in which loop 1, 2, ... are searched, told with a stand-in for one exact search."""

from __future__ import annotations

from collections.abc import Sequence
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest

from loops_tiny import small_sheet
from loopwright.loops import search
from loopwright.loops.crew import Crew
from loopwright.loops.progress import PROVEN_GAP, Progress
from loopwright.loops.search import Chain

SHEET = small_sheet(0)
ORDER = (0, 1)
OPEN = 9.0
"""Points between a loop and its bound where nothing is proven."""


class Searched:
    """Finds at its n-th call what the plan of its rank says: (score, points open), or nothing."""

    plans: Sequence[Sequence[tuple[float, float]]] = ()
    made: list[Searched]

    def __init__(self, *_: object, tops: Sequence[float], **__: object) -> None:
        self.left = False
        self.rank = sum(not one.left for one in self.made)
        self.plan = list(self.plans[self.rank])
        self.tops = list(tops)
        self.roots = [SimpleNamespace(bound=top - 1.0) for top in tops]
        self.best, self.bound = -np.inf, 100.0
        self.asked: list[tuple[str, float, int]] = []
        self.made.append(self)

    def run(self, gap: float, *, turns: int) -> None:
        self._go("run", gap, turns)

    def settle(self, gap: float, *, turns: int) -> None:
        self._go("settle", gap, turns)

    def _go(self, name: str, gap: float, turns: int) -> None:
        self.asked.append((name, gap, turns))
        if self.plan:
            self.best, left = self.plan.pop(0)
            self.bound = self.best + left

    def arcs(self) -> tuple[int, ...]:
        return (self.rank,) if self.best > -np.inf else ()


def chain_of(
    monkeypatch: pytest.MonkeyPatch, *plans: Sequence[tuple[float, float]]
) -> tuple[Chain, list[Searched]]:
    made: list[Searched] = []
    monkeypatch.setattr(Searched, "plans", plans)
    monkeypatch.setattr(Searched, "made", made, raising=False)
    monkeypatch.setattr(search, "Hunt", Searched)
    wishes = SimpleNamespace(count=len(plans))
    progress: Any = SimpleNamespace(
        question=SimpleNamespace(wishes=wishes), bound=50.0, tell=lambda: None
    )
    return Chain(cast("Progress", progress), SHEET, Crew(1, lambda: None), ORDER), made


def test_each_rank_is_begun_once_and_then_gone_on_with(monkeypatch: pytest.MonkeyPatch) -> None:
    plan = [(40.0, OPEN)]
    chain, made = chain_of(monkeypatch, plan, plan, plan)
    for turns in (24, 48):
        chain.round(turns)
    went_on = [("run", PROVEN_GAP, 24), ("settle", PROVEN_GAP, 48)]
    assert [one.asked for one in made] == [went_on] * 3
    assert not chain.proven()


def test_bounds_of_the_rank_before_hold_for_the_next(monkeypatch: pytest.MonkeyPatch) -> None:
    plan = [(40.0, OPEN)]
    chain, made = chain_of(monkeypatch, plan, plan, plan)
    chain.round(24)
    assert [one.tops for one in made] == [[top, top] for top in (50.0, 49.0, 48.0)]


def test_only_the_first_is_searched_to_the_last_bit_once_it_is_proven(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    chain, made = chain_of(monkeypatch, [(40.0, PROVEN_GAP)], [(30.0, PROVEN_GAP)])
    chain.round(24)
    once = ("run", PROVEN_GAP, 24)
    assert [one.asked for one in made] == [[once, ("settle", 0.0, 6)], [once]]
    assert chain.proven()


def test_proven_is_only_what_is_proven_of_all(monkeypatch: pytest.MonkeyPatch) -> None:
    chain, _ = chain_of(monkeypatch, [(40.0, 0.0)], [(30.0, OPEN), (30.0, 0.0)])
    for proven in (False, True):
        chain.round(24)
        assert chain.proven() == proven


def test_where_a_loop_is_bettered_the_ranks_after_it_begin_anew(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    chain, made = chain_of(
        monkeypatch, [(40.0, OPEN)], [(30.0, OPEN), (31.0, OPEN)], [(20.0, OPEN)]
    )
    chain.round(24)
    made[2].left = True
    chain.round(48)
    assert [len(one.asked) for one in made] == [2, 2, 1, 1]
    assert made[3].asked == [("run", PROVEN_GAP, 48)]


def test_where_no_loop_is_found_none_is_looked_for_after_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    chain, made = chain_of(monkeypatch, [(40.0, OPEN)], [], [(20.0, OPEN)])
    chain.round(24)
    assert len(made) == 2
