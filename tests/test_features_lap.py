"""A loop unrolled: lengths, heights and features agree with the terrain they come from."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from features_help import bent, network_of, path, tag_on
from loopwright.features import assess, unroll
from loopwright.features.measure import amounts_of
from loopwright.model.arrays import Floats
from loopwright.model.course import Course
from loopwright.model.ground import SURFACES, FeatureKind, Terrain
from loopwright.model.ids import Arc, StretchId, Way


def hilly(xy: Floats) -> Floats:
    return np.asarray(30 + 8 * np.sin(xy[:, 0] / 55) + 6 * np.cos(xy[:, 1] / 70))


def square() -> Terrain:
    """Four sides of 250 m; b is stored against the lap."""
    sides = path((0, 0), (250, 0)), path((250, 250), (250, 0)), path((250, 250), (0, 250))
    tags = [tag_on(sides[1], surface="gravel", roughness="bad", banked=True)]
    return assess(network_of(*sides, path((0, 250), (0, 0)), height=hilly), tags)


LAP: tuple[Arc, ...] = (
    (StretchId("a"), Way.FORWARD), (StretchId("b"), Way.BACKWARD),
    (StretchId("c"), Way.FORWARD), (StretchId("d"), Way.FORWARD),
)  # fmt: skip


def kinds(course: Course, kind: FeatureKind) -> list[tuple[float, float]]:
    return [(f.from_m, f.to_m) for f in course.features if f.kind is kind]


def test_a_lap_is_as_long_and_high_as_its_arcs() -> None:
    terrain = square()
    lap = unroll(terrain, LAP, name="square")
    assert lap.closed
    assert lap.length_m == pytest.approx(1000)
    assert lap.arc_ends_m.tolist() == pytest.approx([250, 500, 750, 1000])
    assert lap.ascent_m == pytest.approx(sum(terrain.ascents_m[arc] for arc in LAP))
    assert lap.xy[0].tolist() == lap.xy[-1].tolist()
    assert np.diff(lap.dist_m) == pytest.approx(2.5, rel=0.1)
    assert lap.ele_m == pytest.approx(hilly(lap.xy), abs=0.6)
    assert SURFACES[lap.surface[150]] == "gravel"
    assert lap.surface[50] == 0
    assert lap.rough[150] == lap.banked[150] == 1


def test_corners_at_junctions_are_on_the_lap_and_numbered_in_order() -> None:
    lap = unroll(square(), LAP, name="square")
    corners = [f for f in lap.features if f.kind is FeatureKind.CORNER]
    assert [round(f.at_m) % 1000 for f in corners] == [0, 250, 500, 750]
    assert all(f.turn_deg == pytest.approx(90, abs=8) for f in corners)
    assert [f.number for f in lap.features] == list(range(1, len(lap.features) + 1))
    assert all(0 <= f.from_m <= f.at_m <= f.to_m <= lap.length_m for f in lap.features)


def test_the_way_round_turns_the_corners_and_swaps_climbs_for_descents() -> None:
    terrain = square()
    back = tuple((key, way.other) for key, way in LAP[::-1])
    here, other = unroll(terrain, LAP, name="one"), unroll(terrain, back, name="other")
    total = here.length_m
    mirrored = sorted((total - high, total - low) for low, high in kinds(here, FeatureKind.CLIMB))
    assert kinds(other, FeatureKind.DESCENT) == pytest.approx(np.array(mirrored), abs=0.1)
    assert {round(f.turn_deg) for f in other.features if f.kind is FeatureKind.CORNER} == {
        -round(f.turn_deg) for f in here.features if f.kind is FeatureKind.CORNER
    }
    assert other.curvature_per_m[::-1] == pytest.approx(-here.curvature_per_m, abs=1e-6)


@given(st.floats(0, 999.9) | st.sampled_from([0.3, 249.8, 250.0, 250.4, 999.7]))
def test_another_gate_is_the_same_lap_turned(start_m: float) -> None:
    terrain = square()
    here = unroll(terrain, LAP, name="lap")
    lap = unroll(terrain, LAP, name="lap", start_m=start_m)
    assert lap.length_m == pytest.approx(here.length_m)
    assert lap.arc_ends_m[-1] == pytest.approx(here.length_m)
    assert np.diff(lap.arc_ends_m).min() > 0
    assert len(lap.arcs) in (4, 5)
    assert float(lap.ele_m[0]) == pytest.approx(
        float(np.interp(start_m, here.dist_m, here.ele_m)), abs=0.1)  # fmt: skip
    assert sum(f.kind is FeatureKind.CORNER for f in lap.features) == 4


def test_a_climb_goes_on_over_a_junction() -> None:
    sides = path((0, 0), (150, 0)), path((150, 0), (300, 0))
    terrain = assess(network_of(*sides, height=lambda xy: 0.06 * xy[:, 0]))
    arcs = ((StretchId("a"), Way.FORWARD), (StretchId("b"), Way.FORWARD))
    lap = unroll(terrain, arcs, name="up")
    assert not lap.closed
    (climb,) = [f for f in lap.features if f.kind is FeatureKind.CLIMB]
    assert climb.gain_m == pytest.approx(18, abs=0.3)
    assert sum(f.kind is FeatureKind.CLIMB for f in terrain.features) == 2


def test_a_rough_descent_goes_on_over_a_junction() -> None:
    sides = path((0, 0), (150, 0)), path((300, 0), (150, 0))
    network = network_of(*sides, height=lambda xy: 40 - 0.08 * xy[:, 0])
    terrain = assess(network, [tag_on(path((50, 0), (250, 0)), roughness="horrible")])
    arcs = ((StretchId("a"), Way.FORWARD), (StretchId("b"), Way.BACKWARD))
    lap = unroll(terrain, arcs, name="down")
    (rough,) = [f for f in lap.features if f.kind is FeatureKind.ROUGH_DESCENT]
    assert (rough.from_m, rough.to_m) == pytest.approx((50, 250), abs=1)
    assert rough.gain_m == pytest.approx(16, abs=0.5)
    assert rough.grade_mean == pytest.approx(-0.08, rel=0.05)
    assert sum(f.kind is FeatureKind.ROUGH_DESCENT for f in terrain.features) == 2


def test_a_funnel_at_a_junction_is_on_the_lap() -> None:
    wide, narrow = path((0, 0), (150, 0)), path((150, 0), (250, 0))
    tags = [tag_on(wide, width="wide"), tag_on(narrow, width="narrow")]
    terrain = assess(network_of(wide, narrow), tags)
    arcs = ((StretchId("a"), Way.FORWARD), (StretchId("b"), Way.FORWARD))
    lap = unroll(terrain, arcs, name="out")
    assert kinds(lap, FeatureKind.FUNNEL) == [pytest.approx((0, 150), abs=1)]
    assert amounts_of(lap)["funnels"] == 1
    assert amounts_of(lap)["narrow_m"] == pytest.approx(100, abs=3)


def test_arcs_must_follow_each_other() -> None:
    with pytest.raises(ValueError, match="follow"):
        unroll(square(), (LAP[0], LAP[2]), name="no")
    with pytest.raises(ValueError, match="at least one"):
        unroll(square(), (), name="no")


def test_without_heights_a_lap_has_none() -> None:
    ring = bent(*[part for _ in range(4) for part in ((100, 0), (15.7, 90))])
    ring[-1] = ring[0]
    terrain = assess(network_of(ring, height=lambda xy: np.full(len(xy), np.nan)))
    lap = unroll(terrain, ((StretchId("a"), Way.FORWARD),), name="ring")
    assert not lap.has_heights
    assert lap.ascent_m == 0
    assert {f.kind for f in lap.features} == {FeatureKind.CORNER}


def test_a_recorded_lap_is_measured_as_a_loop_is() -> None:
    terrain = square()
    measured = amounts_of(unroll(terrain, LAP, name="square"))
    passages = {(p.before, p.after): p for p in terrain.passages}
    added: dict[str, float] = {}
    for k, arc in enumerate(LAP):
        turn = passages.get((LAP[k - 1], arc))
        for amounts in (terrain.amounts[arc], turn.amounts if turn else {}):
            for kind, value in amounts.items():
                added[kind] = added.get(kind, 0.0) + value
    for kind in ("corners", "tight_corners", "straights", "ground_m:gravel", "rough_m"):
        assert measured.get(kind, 0) == pytest.approx(added.get(kind, 0), abs=3), kind
    assert measured["climb_gain_m"] == pytest.approx(added["climb_gain_m"], rel=0.1)
    assert measured["easy_m"] == pytest.approx(added["easy_m"], rel=0.1)
    assert all(value > 0 for value in measured.values())
