"""The tiny search that compiles the kernels: it has to go wherever a real one goes."""

from __future__ import annotations

from typing import Any

import pytest

from loopwright.loops import warm
from loopwright.loops.graph import Sheet
from loopwright.loops.legal import faults_of
from loopwright.loops.progress import Progress
from loopwright.loops.search import search
from loopwright.model.ids import Way


def test_two_questions_are_searched_to_the_end(monkeypatch: pytest.MonkeyPatch) -> None:
    """One free, one with a stretch that must be ridden; a second loop is looked for, one worker."""
    ends: list[tuple[Progress, Sheet]] = []

    def watched(progress: Progress, sheet: Sheet, *, workers: int) -> None:
        assert workers == 1
        search(progress, sheet, workers=workers)
        ends.append((progress, sheet))

    monkeypatch.setattr(warm, "search", watched)
    warm.warm_up()
    assert [sheet.rule.musts for _, sheet in ends] == [0, 1]
    for progress, sheet in ends:
        told = progress.result()
        assert told.proven
        assert progress.question.wishes.count == 2
        first = progress.terrain.network.stretches[0].id
        mine = progress.terrain.amounts[first, Way.FORWARD]
        assert mine.keys() == progress.question.wishes.mix.targets.keys()
        assert sheet.graph.succ.size > 0
        assert 0.0 < told.loops[0].match < 1.0
        for loop in told.loops:
            assert faults_of(progress.terrain, progress.question, loop.arcs) == ()


def test_the_made_up_ground_is_two_triangles_with_a_side_in_common() -> None:
    terrain = warm.triangle_pair()
    ends = [(s.start, s.end) for s in terrain.network.stretches]
    assert ends == [("j0", "j1"), ("j1", "j2"), ("j2", "j0"), ("j1", "j3"), ("j3", "j2")]
    spots: dict[str, Any] = {j.id: j.xy.tolist() for j in terrain.network.junctions}
    for stretch in terrain.network.stretches:
        assert stretch.xy.tolist() == [spots[stretch.start], spots[stretch.end]]
    assert len({tuple(spot) for spot in spots.values()}) == 4
    arcs = {(s.id, way) for s in terrain.network.stretches for way in Way}
    assert set(terrain.amounts) == set(terrain.ascents_m) == arcs
