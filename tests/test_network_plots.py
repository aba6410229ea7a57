"""Pairs found plot by plot are all the pairs there are."""

from __future__ import annotations

import numpy as np
import pytest

from loopwright.model.arrays import Floats
from loopwright.network import plots
from loopwright.network.plots import Pairs, near
from loopwright.network.rows import Bools, Rows, parts

REACH_M = 20.0
RNG = np.random.default_rng(3)
SCATTERED = RNG.uniform(-1000.0, 1000.0, (3000, 2))
EDGES = np.column_stack((RNG.uniform(-30.0, 30.0, 300), RNG.uniform(370.0, 430.0, 300)))
"""Round the corner of four plots."""


def every(i: Rows, j: Rows) -> tuple[Bools, Bools]:
    yes = np.ones(len(i), dtype=bool)
    return yes, yes


def by_hand(xy: Floats) -> list[tuple[int, int]]:
    gap = np.hypot(*(xy[:, None, :] - xy[None, :, :]).transpose(2, 0, 1))
    np.fill_diagonal(gap, np.inf)
    return list(zip(*(rows.tolist() for rows in np.nonzero(gap <= REACH_M)), strict=True))


def told(pairs: Pairs) -> list[tuple[int, int]]:
    i = np.repeat(np.arange(len(pairs.first) - 1), np.diff(pairs.first))
    return list(zip(i.tolist(), pairs.other.tolist(), strict=True))


@pytest.mark.parametrize("xy", [SCATTERED, EDGES, SCATTERED[:1], SCATTERED[:0]])
def test_all_pairs_are_found_once_in_order(xy: Floats) -> None:
    assert told(near(xy, REACH_M, every)) == by_hand(xy)


def test_pairs_that_suit_one_way_only_are_kept_one_way() -> None:
    def westward(i: Rows, j: Rows) -> tuple[Bools, Bools]:
        there = EDGES[j, 0] < EDGES[i, 0]
        return there, ~there

    kept = told(near(EDGES, REACH_M, westward))
    assert kept == [(i, j) for i, j in by_hand(EDGES) if EDGES[j, 0] < EDGES[i, 0]]


def test_few_pairs_at_a_time_are_the_same_pairs(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(plots, "CHUNK", 7)
    assert told(near(EDGES, REACH_M, every)) == by_hand(EDGES)


def test_blocks_hold_every_pair_once_and_part_only_at_edges() -> None:
    pairs = near(EDGES, REACH_M, every)
    edges = np.array([0, 10, 11, 150, 300])
    blocks = list(pairs.blocks(edges, most=50))
    assert {block.low for block in blocks} <= set(edges.tolist())
    found = [(i, j) for b in blocks for i, j in zip(b.i.tolist(), b.j.tolist(), strict=True)]
    assert found == told(pairs)
    sums = np.concatenate([block.sums(np.ones(len(block.i))) for block in pairs.blocks(most=9)])
    assert sums.tolist() == np.diff(pairs.first).tolist()


def test_parts_cover_all_groups_and_keep_them_whole() -> None:
    first = np.array([0, 3, 3, 4, 100, 101])
    assert list(parts(first, 4)) == [(0, 3), (3, 4), (4, 5)]
    assert list(parts(first, 1000)) == [(0, 5)]
