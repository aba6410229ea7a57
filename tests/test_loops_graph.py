"""A question laid out as arrays, by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from loops_help import question_of
from loops_tiny import B, F, arcs, ground, name
from loopwright.loops.further import Further
from loopwright.loops.graph import Sheet, sheet_of
from loopwright.model.ground import Passage
from loopwright.model.ids import Ways
from loopwright.model.wishes import Mix

MIX = Mix(name="two", targets={"corners": 10.0, "steady_m": 100.0}, weights={"corners": 3.0})
ASKED = question_of(MIX, low_m=200.0, high_m=400.0)
ONE_WAY = ground(s0000={"ways": Ways.FORWARD})


def laid_out(*passages: Passage, apart: frozenset[object] = frozenset()) -> Sheet:
    terrain = replace(ONE_WAY, passages=passages)
    return sheet_of(terrain, ASKED, Further(apart=apart))  # type: ignore[arg-type] # pairs of arcs


def links(sheet: Sheet) -> set[tuple[int, int]]:
    """Which arc may follow which."""
    before = np.repeat(np.arange(len(sheet.arcs)), np.diff(sheet.graph.first))
    return set(zip(before.tolist(), sheet.graph.succ.tolist(), strict=True))


def test_limits_and_prices_in_points() -> None:
    """Weights of 3 to 1 share 100 points; 10 points at 400 m; 100 m are a quarter of 100."""
    sheet = laid_out()
    assert sheet.rule.most.tolist() == [75.0, 25.0]
    assert sheet.rule.price == 10.0 / 400.0
    assert sheet.rule.cap == pytest.approx(400.0, abs=1e-5)
    assert sheet.rule.room.tolist() == pytest.approx([-50.0], abs=1e-5)
    assert sheet.graph.load.tolist() == [[-25.0]] * 11


def test_a_stretch_ridden_one_way_has_no_twin() -> None:
    sheet = laid_out()
    twins = {arc: int(t) for arc, t in zip(sheet.arcs, sheet.graph.twin, strict=True)}
    assert twins.pop((name(0), F)) == -1
    for (stretch, way), twin in twins.items():
        assert sheet.arcs[twin] == (stretch, way.other)


def test_every_way_on_but_straight_back_and_the_banned() -> None:
    ban, gives = arcs((0, F), (1, F)), arcs((1, F), (4, F))
    sheet = laid_out(
        Passage(before=ban[0], after=ban[1], allowed=False),
        Passage(before=gives[0], after=gives[1], amounts={"corners": 2.0}),
    )
    tails, heads = sheet.graph.tail, sheet.graph.head
    want = {
        (i, j)
        for i, one in enumerate(sheet.arcs)
        for j, other in enumerate(sheet.arcs)
        if heads[i] == tails[j] and (one, other) != ban and other != (one[0], one[1].other)
    }
    assert links(sheet) == want
    worth = sheet.graph.link_worth
    assert worth.sum() == worth.max() == pytest.approx(75.0 * 2 / 10)


def test_links_backwards_are_the_links_turned_round() -> None:
    sheet = laid_out()
    graph = sheet.graph
    assert graph.pred_first.size == len(sheet.arcs) + 1
    assert (graph.pred_first[0], graph.pred_first[-1]) == (0, graph.pred.size)
    after = np.repeat(np.arange(len(sheet.arcs)), np.diff(graph.pred_first))
    assert set(zip(graph.pred.tolist(), after.tolist(), strict=True)) == links(sheet)


def test_arcs_that_nothing_leads_to_have_no_links_backwards() -> None:
    """Stretch 4 alone leads into junction j3 and nothing leads on or back."""
    avoid = frozenset(name(i) for i in (2, 3, 5))
    graph = sheet_of(ONE_WAY, replace(ASKED, avoid=avoid), Further()).graph
    assert graph.pred_first.tolist() == [0, 0, 1, 2, 3, 3]
    assert graph.pred.tolist() == [0, 4, 1]


def test_foes_need_both_arcs_on_the_ground() -> None:
    pairs = frozenset({arcs((9, F), (1, F)), arcs((0, B), (1, F)), arcs((2, F), (1, F))})
    sheet = laid_out(apart=pairs)
    place = {arc: i for i, arc in enumerate(sheet.arcs)}
    rows = np.split(sheet.graph.foe, sheet.graph.foe_first[1:-1])
    foes = {i: row.tolist() for i, row in enumerate(rows) if row.size}
    two, one = place[name(2), F], place[name(1), F]
    assert foes == {two: [one], one: [two]}


def test_what_is_not_ridden_yet_is_used_only_when_wished() -> None:
    drawn = ground(s0001={"unridden": True})
    for wished, count in ((False, 10), (True, 12)):
        question = replace(ASKED, wishes=replace(ASKED.wishes, use_unridden=wished))
        assert len(sheet_of(drawn, question, Further()).arcs) == count
