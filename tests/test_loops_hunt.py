"""The order of work of one exact search: room, turns, gaps, stopping."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from loops_help import question_of, terrain_of
from loops_tiny import (
    everywhere,
    loops_from,
    near,
    roots,
    small_sheet,
    tiny_sheet,
)
from loopwright.loops import hunt as room
from loopwright.loops.crew import Crew
from loopwright.loops.further import Further
from loopwright.loops.graph import Sheet, sheet_of
from loopwright.loops.hunt import Hunt, fresh_path, no_loop
from loopwright.loops.loop_value import HAIR

SMALL = {seed: small_sheet(seed) for seed in range(3)}
TOP = 500.0


def hunt_of(sheet: Sheet, *, roam: bool = True, tick: Callable[[], None] = lambda: None) -> Hunt:
    order = roots(sheet)
    return Hunt(
        sheet.graph, sheet.rule, order, roam=roam, tops=[TOP] * len(order), crew=Crew(1, tick)
    )


def best_of(sheet: Sheet, root: int) -> float:
    loops = loops_from(sheet.graph, sheet.rule, root, everywhere(sheet))
    return max((loop.score for loop in loops), default=-np.inf)


@pytest.mark.parametrize("seed", [s for s in range(36) if s not in {14, 23}])
def test_a_fresh_path_has_room_for_the_longest_loop_and_all_its_branches(seed: int) -> None:
    sheet = tiny_sheet(seed)
    local, rule = near(sheet, 0), sheet.rule
    path = fresh_path(local, rule, 2)
    longest = local.stretches + rule.repeats
    for row in (path.arc, path.length, path.again, path.repeats, path.musts):
        assert longest < row.size <= longest + 3
    depth = path.arc.size
    assert path.worth.shape == (depth, rule.most.size)
    assert path.load.shape == (depth, rule.room.size)
    assert path.value.shape == (depth, 2)
    widest = max(np.diff(local.first).max(initial=0), 1)
    for row in (path.open_depth, path.open_arc, path.open_link, path.open_bound):
        assert row.size == local.starts + depth * widest
    sizes = (path.times.size, path.barred.size, path.seen.size, path.scratch.size)
    assert sizes == (local.arc.size, local.arc.size, rule.musts, 2)
    assert path.cursor.tolist() == [0, -1]
    assert not any(np.any(row) for row in path if row is not path.cursor)


def test_before_the_first_loop_there_is_none() -> None:
    found = no_loop(3)
    assert (found.score.tolist(), found.size.tolist()) == ([-np.inf], [0, 0])
    assert found.arcs.tolist() == [0, 0, 0]
    hunt = hunt_of(SMALL[0])
    assert (hunt.best, hunt.bound, hunt.arcs()) == (-np.inf, TOP, ())


@pytest.mark.parametrize("seed", SMALL)
def test_the_first_look_bounds_every_root(seed: int) -> None:
    sheet = SMALL[seed]
    hunt = hunt_of(sheet)
    told: list[float] = []
    hunt.on_better = lambda: told.append(hunt.best)
    hunt.run(0.5, turns=0)
    assert all(root.bound < TOP for root in hunt.roots)
    assert hunt.bound == max(hunt.best, *(root.bound for root in hunt.roots))
    assert told == sorted(set(told))
    assert told[-1] == hunt.best
    for root in hunt.roots:
        assert root.dig is None
        if root.bound <= hunt.best + 0.5:
            assert root.near is None


@pytest.mark.parametrize("seed", SMALL)
def test_a_root_is_searched_without_those_before_it(seed: int) -> None:
    """Only where loops may lie anywhere; with a wished start each root has all its loops."""
    sheet = SMALL[seed]
    for roam in (True, False):
        hunt = hunt_of(sheet, roam=roam)
        for root in hunt.roots:
            alive = hunt._alive(root)
            assert alive.tolist() == [not roam or j >= root.place for j in range(alive.size)]
            assert alive.size == len(sheet.junctions)


@pytest.mark.parametrize(("turns", "searched"), [(0, 0), (1, 4), (2, 8), (None, 0)])
def test_roots_are_taken_four_at_a_time_for_as_many_turns_as_told(
    monkeypatch: pytest.MonkeyPatch, turns: int | None, searched: int
) -> None:
    taken: list[int] = []

    def work(_hunt: Hunt, root: room.Root, _found: object, _gap: float) -> None:
        taken.append(root.place)
        root.bound = -1.0

    monkeypatch.setattr(Hunt, "_work", work)
    hunt = hunt_of(SMALL[1])
    hunt.found.score[0] = 0.0
    for i, root in enumerate(hunt.roots):
        root.bound = float(i % 5) + 1.0
    order = sorted(range(len(hunt.roots)), key=lambda i: (-hunt.roots[i].bound, i))
    hunt.settle(0.5, turns=turns)
    assert taken == order[: len(order) if turns is None else searched]


def test_roots_that_cannot_be_better_by_the_gap_are_left(monkeypatch: pytest.MonkeyPatch) -> None:
    taken: list[int] = []

    def work(_hunt: Hunt, root: room.Root, _found: object, _gap: float) -> None:
        taken.append(root.place)
        root.bound -= 2.0

    monkeypatch.setattr(Hunt, "_work", work)
    hunt = hunt_of(SMALL[1])
    hunt.found.score[0] = 10.0
    for root in hunt.roots:
        root.bound = 10.5
    hunt.roots[1].bound, hunt.roots[2].bound = 10.6, 13.0
    hunt.settle(0.5)
    assert taken == [2, 1, 0, 3, 2, 4, 5, 6]  # batches are filled up; roots 7 and 8 are not needed


@pytest.mark.parametrize("seed", SMALL)
def test_one_turn_at_a_root_betters_its_bound_until_it_is_true_to_the_gap(seed: int) -> None:
    sheet = SMALL[seed]
    for root in hunt_of(sheet, roam=False).roots:
        hunt, best = hunt_of(sheet, roam=False), best_of(sheet, root.place)
        mine, found = hunt.roots[root.place], no_loop(hunt.found.arcs.size)
        for _ in range(20):
            before = mine.bound
            hunt._work(mine, found, 0.25)
            assert best <= max(mine.bound, found.score[0]) + HAIR
            assert mine.bound <= before
            if mine.bound <= found.score[0] + 0.25:
                break
        else:
            message = "the search of one root does not end"
            raise AssertionError(message)
        assert found.score[0] >= best - 0.25 - HAIR
        assert mine.dig is None
        turns = mine.turns
        hunt._work(mine, found, 0.25)
        hunt._screen(mine, found, 0.25)
        assert mine.turns == turns


def test_nothing_is_begun_once_the_crew_stops() -> None:
    hunt = hunt_of(SMALL[0])
    hunt.crew.stopping = True
    for root in hunt.roots:
        hunt._work(root, hunt.found, 0.0)
        hunt._screen(root, hunt.found, 0.0)
        assert (root.bound, root.near, root.turns) == (TOP, None, 0)


def test_what_was_found_before_a_stop_is_kept_and_told() -> None:
    ticks = iter(range(3))

    def tick() -> None:
        if next(ticks, None) is None:
            raise KeyboardInterrupt

    hunt, told = hunt_of(SMALL[0], tick=tick), list[float]()
    hunt.on_better = lambda: told.append(hunt.best)
    with pytest.raises(KeyboardInterrupt):
        hunt.run(0.0)
    assert told
    assert hunt.best == told[-1] > -np.inf
    assert hunt.arcs()


def test_a_second_price_set_lets_the_conditions_go() -> None:
    hunt = hunt_of(SMALL[0])
    kinds = SMALL[0].rule.most.size
    flat = np.arange(1.0, kinds + 4.0)
    both = hunt._price_sets(flat)
    assert both[0].tolist() == flat.tolist()
    assert both[1].tolist() == [*flat[:kinds], 0.0, *flat[kinds + 1 :]]
    flat[kinds] = 0.0
    assert hunt._price_sets(flat).tolist() == [flat.tolist()]
    start = hunt._near(hunt.roots[0]).flat
    assert start.tolist() == [0.5] * kinds + [0.0] * (start.size - kinds)


def test_prices_of_a_root_are_where_the_next_one_begins() -> None:
    hunt = hunt_of(SMALL[0])
    size = SMALL[0].rule.most.size + 1
    hunt.run(0.0, turns=0)
    known = [root.near.flat[:size].tolist() for root in hunt.roots if root.near is not None]
    assert hunt.common.tolist() in known
    assert hunt.common.tolist() != [0.5] * (size - 1) + [0.0]


@pytest.mark.parametrize("seed", SMALL)
def test_a_run_ends_when_nothing_better_by_the_gap_is_left(seed: int) -> None:
    hunt = hunt_of(SMALL[seed])
    hunt.run(0.5)
    assert hunt.bound <= hunt.best + 0.5 + HAIR


def test_buckets_get_no_finer_than_a_thousandth_and_no_finer_than_needed() -> None:
    local, cap = near(SMALL[0], 0), SMALL[0].rule.cap
    crumbs = local._replace(length=np.full(400, 1e-9 * cap))
    assert room.FINEST * cap / 1.5 < room.bucket_for(crumbs, 0.5, cap) <= room.FINEST * cap
    assert room.bucket_for(local._replace(length=np.full(400, cap)), 0.5, cap) == 0.5 * cap


@pytest.mark.parametrize("ends", [[(0, 1), (1, 0), (1, 2)], [(0, 1), (1, 0), (2, 1)]])
def test_junctions_that_are_only_left_or_only_reached_are_counted(
    ends: list[tuple[int, int]],
) -> None:
    spots = np.array([[0.0, 0.0], [9.0, 0.0], [0.0, 9.0]])
    rng = np.random.default_rng(1)
    terrain = terrain_of(rng, spots, np.zeros(3), ends, [100.0] * 3, one_way=1.0)
    sheet = sheet_of(terrain, question_of(low_m=1.0, high_m=500.0), Further())
    hunt = hunt_of(sheet)
    assert all(hunt._alive(root).size == 3 for root in hunt.roots)


def hard_root(hunt: Hunt) -> room.Root:
    """A root whose search is not over after its first node."""
    for root in hunt.roots:
        hunt._work(root, hunt.found, 0.0)
        if root.dig is not None:
            return root
    message = "every root is too easy"
    raise AssertionError(message)


def test_each_turn_takes_twice_the_slices_up_to_sixteen(monkeypatch: pytest.MonkeyPatch) -> None:
    dived: list[int] = []
    monkeypatch.setattr(room, "SLICE_NODES", 1)
    hunt = hunt_of(SMALL[1], tick=lambda: checked.append(1))
    checked: list[int] = []
    root = hard_root(hunt)
    assert root.turns == 1
    assert len(checked) >= 1
    monkeypatch.setattr(Hunt, "_dive", lambda *_: dived.append(1))
    slices = []
    for _ in range(5):
        dived.clear()
        checked.clear()
        hunt._work(root, hunt.found, 0.0)
        slices.append(len(dived))
        assert len(checked) == len(dived)
    assert slices == [2, 4, 8, 16, 16]


def test_no_slice_is_begun_after_a_stop(monkeypatch: pytest.MonkeyPatch) -> None:
    dived: list[int] = []
    monkeypatch.setattr(room, "SLICE_NODES", 1)
    hunt = hunt_of(SMALL[1])
    root = hard_root(hunt)
    root.turns = 3

    def stop(_hunt: Hunt, *_: object) -> None:
        dived.append(1)
        hunt.crew.stopping = True

    monkeypatch.setattr(Hunt, "_dive", stop)
    hunt._work(root, hunt.found, 0.0)
    assert dived == [1]


def test_tables_of_roots_whose_turn_it_is_not_are_dropped(monkeypatch: pytest.MonkeyPatch) -> None:
    def work(_hunt: Hunt, root: room.Root, *_: object) -> None:
        root.bound = -1.0

    monkeypatch.setattr(Hunt, "_work", work)
    for bytes_, left in ((-1, 0), (10**9, 5)):
        monkeypatch.setattr(room, "KEPT_BYTES", bytes_)
        hunt = hunt_of(SMALL[1])
        hunt.found.score[0] = 0.0
        for root in hunt.roots:
            root.dig = hunt._prepared(root, 0.1)
        hunt.settle(0.0, turns=1)
        assert sum(root.dig is not None for root in hunt.roots) == left


def test_a_search_that_is_content_with_less_says_so() -> None:
    """With a loop in hand 4 points below the best, a gap of 5 leaves the bound above both."""
    content = 0
    for sheet in SMALL.values():
        for root in roots(sheet):
            hunt, best = hunt_of(sheet, roam=False), best_of(sheet, root)
            mine, found = hunt.roots[root], no_loop(99)
            found.score[0] = max(best, 0.0) - 4.0
            hunt._dive(mine, hunt._prepared(mine, 0.01), found, 5.0, 10**6)
            assert best <= mine.bound <= found.score[0] + 5.0
            content += found.score[0] < best
    assert content > 0


@pytest.mark.parametrize("seed", SMALL)
def test_searching_in_small_slices_with_no_room_finds_the_same(
    monkeypatch: pytest.MonkeyPatch, seed: int
) -> None:
    """One node at a time, and tables of only one batch kept."""
    monkeypatch.setattr(room, "SLICE_NODES", 2)
    monkeypatch.setattr(room, "KEPT_BYTES", -1)
    hunt, whole = hunt_of(SMALL[seed]), hunt_of(SMALL[seed])
    whole.run(0.0)
    hunt.run(0.0, turns=0)
    for _ in range(3):
        hunt.settle(0.0, turns=1)
        assert sum(root.dig is not None for root in hunt.roots) <= room.BATCH
    monkeypatch.setattr(room, "SLICE_NODES", 200)
    monkeypatch.setattr(room, "KEPT_BYTES", 10**9)
    hunt.settle(0.0)
    assert hunt.best == pytest.approx(whole.best, abs=1e-9)
    assert hunt.bound == pytest.approx(whole.bound, abs=1e-9)
