"""Small steps of the depth-first search: the order of branches, foes, musts, and its end."""

from __future__ import annotations

import numpy as np
import pytest

from loops_tiny import everywhere, loops_from, near, roots, some_prices, tiny_sheet
from loopwright.loops.dive import ceiling, dive, push, ride
from loopwright.loops.graph import Sheet
from loopwright.loops.hunt import fresh_path, no_loop
from loopwright.loops.shapes import Local, Tables
from loopwright.loops.tables import build_tables

SHEETS = {seed: tiny_sheet(seed) for seed in range(36) if seed not in {14, 23}}
MUSTS = [seed for seed, sheet in SHEETS.items() if sheet.rule.musts]
FOES = [seed for seed, sheet in SHEETS.items() if sheet.graph.foe.size]


def tables_of(local: Local, sheet: Sheet) -> Tables:
    prices = some_prices(local, sheet.rule, np.random.default_rng(1))
    return build_tables(local, sheet.rule, np.array([prices]), sheet.rule.cap / 7)


def test_branches_stand_in_order_of_rising_bound() -> None:
    """The one to be tried next stands last; what was open before is left where it is."""
    sheet = SHEETS[1]
    path = fresh_path(near(sheet, roots(sheet)[0]), sheet.rule._replace(repeats=9), 1)
    path.cursor[:] = (2, 0)
    for first, rows in ((0, [(1, 7.0), (2, 9.0)]), (2, [(3, 8.0), (4, 5.0), (5, 9.5), (6, 6.0)])):
        for arc, bound in rows:
            push(path, first, arc, 10 * arc, bound)
    count = path.cursor[1]
    assert count == 6
    assert path.open_bound[:count].tolist() == [7.0, 9.0, 5.0, 6.0, 8.0, 9.5]
    assert path.open_arc[:count].tolist() == [1, 2, 4, 6, 3, 5]
    assert path.open_link[:count].tolist() == [10, 20, 40, 60, 30, 50]
    assert path.open_depth[:count].tolist() == [3] * 6


@pytest.mark.parametrize("seed", FOES)
def test_each_ridden_arc_bars_its_foes_once(seed: int) -> None:
    sheet = SHEETS[seed]
    for root in roots(sheet):
        local = near(sheet, root)
        tables = tables_of(local, sheet)
        path = fresh_path(local, sheet.rule, 1)
        for arc in range(local.starts):
            ride(local, tables, path, 1, arc, int(local.succ.size))
            foes = local.foe[local.foe_first[arc] : local.foe_first[arc + 1]]
            want = np.bincount(foes, minlength=local.arc.size)
            np.testing.assert_array_equal(path.barred, want)
            path.barred[:] = 0


def test_a_way_on_which_a_must_cannot_be_reached_is_none() -> None:
    cut = kept = 0
    for seed in MUSTS:
        sheet = SHEETS[seed]
        for root in roots(sheet):
            local = near(sheet, root)
            tables, path = tables_of(local, sheet), fresh_path(local, sheet.rule, 1)
            for arc in range(local.starts):
                left = sheet.rule.cap - local.length[arc]
                reached = [
                    local.must[arc] == m or local.via[m, arc] <= left
                    for m in range(sheet.rule.musts)
                ]
                bound = ceiling(local, sheet.rule, tables, path, arc, int(local.succ.size), -1e9)
                assert all(reached) or bound == -np.inf
                cut, kept = cut + (not all(reached)), kept + (bound > -np.inf)
    assert cut >= 3
    assert kept > 3


@pytest.mark.parametrize("seed", [1, 6, 9, 16])
def test_a_search_that_is_over_spends_nothing_more(seed: int) -> None:
    sheet = SHEETS[seed]
    for root in roots(sheet):
        local = near(sheet, root)
        tables, found = tables_of(local, sheet), no_loop(99)
        path = fresh_path(local, sheet.rule, 1)
        spent = dive(local, sheet.rule, tables, path, found, 0.0, 10**6)
        steps, other = fresh_path(local, sheet.rule, 1), no_loop(99)
        for _ in range(spent):
            assert dive(local, sheet.rule, tables, steps, other, 0.0, 1) == 1
        assert other.score[0] == found.score[0]
        assert path.cursor[1] == 0
        assert dive(local, sheet.rule, tables, path, found, -1e9, 10**6) == 0
        best = max(loops_from(sheet.graph, sheet.rule, root, everywhere(sheet)),
                   key=lambda loop: loop.score, default=None)  # fmt: skip
        if best is not None:
            assert found.score[0] == pytest.approx(best.score, abs=1e-6)
