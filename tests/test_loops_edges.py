"""Edges of the search's smaller parts, each by hand."""

from __future__ import annotations

import os
import threading
from dataclasses import replace

import pytest

from loops_help import question_of
from loops_tiny import MIX, F, arcs, ground, name
from loopwright.errors import WorldError
from loopwright.loops.by_hand import _locked_terrain, in_a_row
from loopwright.loops.crew import Crew, cores
from loopwright.loops.legal import faults_of
from loopwright.loops.score import score_loop
from loopwright.model.ids import JunctionId

ASKED = question_of(MIX, low_m=250.0, high_m=450.0)
TRIANGLE = arcs((0, F), (1, F), (2, F))


def test_an_unfinished_row_passes_where_it_sets_out() -> None:
    started = replace(ASKED, start_at=JunctionId("j0"))
    words = [f.words for f in faults_of(ground(), started, arcs((0, F), (1, F)))]
    assert words == ["the loop breaks off after this stretch", "50 m shorter than wished"]


def test_a_loop_scored_by_itself_ranks_first_and_has_at_most_what_is_wished() -> None:
    rich = replace(ground(), amounts={TRIANGLE[0]: dict.fromkeys(MIX.targets, 1e6)}, ascents_m={})
    loop = score_loop(rich, MIX, max_length_m=450.0, arcs=TRIANGLE)
    assert (loop.rank, loop.match, loop.ascent_m) == (1, 1.0, 0.0)
    with pytest.raises(WorldError, match="s0009 is not in this network"):
        score_loop(rich, MIX, max_length_m=450.0, arcs=arcs((0, F), (9, F)))


@pytest.mark.parametrize(
    ("row", "ways"), [([0, 5, 4, 1], "FBBB"), ([0, 1, 3], "FFF"), ([4, 0, 5], "FFB")]
)
def test_a_row_goes_on_from_where_the_last_stretch_led(row: list[int], ways: str) -> None:
    got = in_a_row(ground(), [name(i) for i in row])
    assert "".join("F" if way is F else "B" for _, way in got) == ways


def test_locked_stretches_that_are_gone_hold_nothing() -> None:
    for lost in (arcs((9, F), (0, F)), arcs((0, F), (9, F), (1, F))):
        assert _locked_terrain(ground(), lost).passages == ground().passages


def test_cores_are_those_of_this_process(monkeypatch: pytest.MonkeyPatch) -> None:
    known = {0: {0, 2, 5}}
    monkeypatch.setattr(os, "sched_getaffinity", lambda pid: known.get(pid, {1}), raising=False)
    assert cores() == 3


def test_a_crew_asks_whether_to_stop_while_its_only_task_runs() -> None:
    asked, heard = threading.Event(), list[bool]()
    with Crew(2, asked.set) as crew:
        crew.all([lambda: heard.append(asked.wait(5))])
    assert heard == [True]
