"""The shape of the answer: alternatives, order, reports, starts, the first loop, the mixes."""

from __future__ import annotations

import pickle
from dataclasses import replace

import numpy as np
import pytest

from loops_help import RACE, Listener, question_of, random_terrain
from loopwright.errors import NoAnswerError, WorldError
from loopwright.loops import find_loops, for_lap, score_loop
from loopwright.loops.further import Further
from loopwright.loops.graph import sheet_of
from loopwright.loops.legal import ends_of, faults_of
from loopwright.loops.mixes import built_in_mixes, scaled_to, shortfalls
from loopwright.loops.progress import named
from loopwright.loops.quick import quick_loops
from loopwright.loops.roots import root_order
from loopwright.loops.warm import warm_up
from loopwright.model.ground import AMOUNT_KINDS, EXTRA_KINDS, GROUND_PREFIX, SURFACES, Terrain
from loopwright.model.ids import JunctionId, StretchId, Ways
from loopwright.model.loops import SearchResult
from loopwright.model.wishes import Mix

QUESTION = question_of(count=5)


@pytest.fixture(scope="module")
def terrain() -> Terrain:
    return random_terrain(3, 120)


@pytest.fixture(scope="module")
def answer(terrain: Terrain) -> SearchResult:
    return find_loops(terrain, QUESTION)


def test_loops_are_ranked_legal_and_different(terrain: Terrain, answer: SearchResult) -> None:
    assert len(answer.loops) == 5
    assert [loop.rank for loop in answer.loops] == [1, 2, 3, 4, 5]
    for i, loop in enumerate(answer.loops):
        assert faults_of(terrain, QUESTION, loop.arcs) == ()
        for better in answer.loops[:i]:
            assert better.score >= loop.score - 0.02
            ridden = {s for s, _ in better.arcs}
            shared = sum(terrain.lengths_m[s] for s, _ in loop.arcs if s in ridden)
            assert shared < 0.6 * loop.length_m


def test_same_input_same_answer_with_any_number_of_workers(
    terrain: Terrain, answer: SearchResult
) -> None:
    for workers in (1, 3):
        again = find_loops(terrain, QUESTION, workers=workers)
        assert again.loops == answer.loops
        assert again.bound == answer.bound
        assert again.most == answer.most


def test_answers_only_get_better(terrain: Terrain) -> None:
    listener = Listener()
    result = find_loops(terrain, QUESTION, report=listener)
    scores = [a.loops[0].score for a in listener.answers if a.loops]
    bounds = [a.bound for a in listener.answers]
    assert scores == sorted(scores)
    assert bounds == sorted(bounds, reverse=True)
    assert listener.answers[-1].loops == result.loops


def test_result_crosses_processes(answer: SearchResult) -> None:
    assert pickle.loads(pickle.dumps(answer)) == answer  # noqa: S301 - our own bytes


def test_score_follows_the_published_formula(terrain: Terrain, answer: SearchResult) -> None:
    loop = answer.loops[0]
    got = sum(
        RACE.weight(kind) * min(1.0, loop.amounts[kind] / target)
        for kind, target in RACE.targets.items()
    )
    match = got / sum(RACE.weight(kind) for kind in RACE.targets)
    assert loop.match == pytest.approx(match, abs=1e-12)
    assert loop.score == pytest.approx(100 * match - 10 * loop.length_m / 5000.0, abs=1e-12)
    assert loop.length_m == pytest.approx(sum(terrain.lengths_m[s] for s, _ in loop.arcs))


def test_scoring_an_unknown_stretch_is_told_kindly(terrain: Terrain, answer: SearchResult) -> None:
    stray = (StretchId("elsewhere"), answer.loops[0].arcs[0][1])
    with pytest.raises(WorldError, match="not in this network"):
        score_loop(terrain, RACE, max_length_m=5000.0, arcs=(stray,))


def test_a_loop_begins_at_the_wished_start(terrain: Terrain) -> None:
    spot = terrain.network.junctions[7].id
    loop = find_loops(terrain, replace(QUESTION, start_at=spot)).loops[0]
    known = {s.id: s for s in terrain.network.stretches}
    stretch, way = loop.arcs[0]
    assert ends_of(known[stretch], way)[0] == spot


@pytest.mark.parametrize("wish", ["start", "must", "closed", "short"])
def test_wishes_nothing_can_meet_have_an_honest_no(terrain: Terrain, wish: str) -> None:
    question = {
        "start": replace(QUESTION, start_at=JunctionId("nowhere")),
        "must": replace(QUESTION, must=frozenset({StretchId("nowhere")})),
        "closed": QUESTION,
        "short": question_of(low_m=1.0, high_m=5.0),
    }[wish]
    if wish == "closed":
        shut = tuple(replace(s, ways=Ways.CLOSED) for s in terrain.network.stretches)
        terrain = replace(terrain, network=replace(terrain.network, stretches=shut))
    result = find_loops(terrain, question)
    assert result.loops == ()
    assert result.proven
    assert np.isfinite(result.bound)


def test_drawn_ground_is_used_only_when_asked(terrain: Terrain, answer: SearchResult) -> None:
    first = answer.loops[0].arcs[0][0]
    stretches = tuple(replace(s, unridden=s.id == first) for s in terrain.network.stretches)
    drawn = replace(terrain, network=replace(terrain.network, stretches=stretches))
    asked = replace(QUESTION, wishes=replace(QUESTION.wishes, count=1))
    assert first not in {s for s, _ in find_loops(drawn, asked).loops[0].arcs}
    wanted = replace(asked, wishes=replace(asked.wishes, use_unridden=True))
    assert find_loops(drawn, wanted).loops[0] == answer.loops[0]


def test_the_first_loop_is_legal_and_not_poor(terrain: Terrain, answer: SearchResult) -> None:
    sheet = sheet_of(terrain, QUESTION, Further())
    loops = [named(sheet, arcs) for arcs in quick_loops(sheet, lambda: None)]
    for arcs in loops:
        assert faults_of(terrain, QUESTION, arcs) == ()
    last = score_loop(terrain, RACE, max_length_m=5000.0, arcs=loops[-1])
    assert answer.loops[0].score - 5.0 <= last.score <= answer.loops[0].score + 1e-9


def test_every_loop_passes_a_root(terrain: Terrain, answer: SearchResult) -> None:
    sheet = sheet_of(terrain, QUESTION, Further())
    roots = {sheet.junctions[i] for i in root_order(sheet.graph, -1)}
    known = {s.id: s for s in terrain.network.stretches}
    for loop in answer.loops:
        assert roots & {ends_of(known[s], way)[0] for s, way in loop.arcs}


def test_warming_up_is_silent() -> None:
    warm_up()


def test_built_in_mixes_use_known_kinds_and_own_names() -> None:
    mixes = built_in_mixes()
    grounds = {GROUND_PREFIX + surface for surface in SURFACES}
    known = {*AMOUNT_KINDS, *EXTRA_KINDS, *grounds}
    assert len({mix.name for mix in mixes}) == len(mixes) == 10
    for mix in mixes:
        assert set(mix.targets) <= known
        assert set(mix.weights) <= set(mix.targets)


def test_race_simulation_asks_what_races_were_measured_to_ask() -> None:
    # A surge every 32 s, one above maximal aerobic power every 106 s (Macdermid and Stannard
    # 2012), a quarter of the lap nearly coasting (Granier 2018); 5 m/s is our assumption.
    race = next(mix for mix in built_in_mixes() if mix.name == "race simulation")
    lap_s = 5000.0 / 5.0
    assert race.targets["corners"] == pytest.approx(lap_s / 32, abs=1)
    assert race.targets["tight_corners"] == pytest.approx(lap_s / 106, abs=1)
    assert race.targets["descent_m"] == pytest.approx(0.25 * 5000.0)


def test_mixes_scale_with_the_lap_and_the_ground(terrain: Terrain) -> None:
    mix = Mix(name="m", targets={"corners": 40.0, "climb_gain_m": 100.0, "ground_m:sand": 50.0})
    short = for_lap(mix, 2500.0)
    assert short.targets == {"corners": 20.0, "climb_gain_m": 50.0, "ground_m:sand": 25.0}
    most = find_loops(terrain, question_of(mix)).most
    assert most["ground_m:sand"] == 0.0
    assert [s.kind for s in shortfalls(mix, most)][-1] == "ground_m:sand"
    scaled = scaled_to(mix, most)
    assert "ground_m:sand" not in scaled.targets
    assert all(scaled.targets[k] <= 0.9 * most[k] + 1e-9 for k in scaled.targets)
    with pytest.raises(NoAnswerError, match="offers any"):
        scaled_to(Mix(name="sand", targets={"ground_m:sand": 50.0}), most)
