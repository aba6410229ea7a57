"""Climbs, descents, straights, funnels and steady parts are where the definitions say."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from features_help import bent, found, level, network_of, path, tag_on, turned_round
from loopwright.features import assess, unroll
from loopwright.geo.ascent import LEAST_RISE_M
from loopwright.jobs import Cancelled, Silent
from loopwright.model.arrays import Floats
from loopwright.model.ground import FeatureKind, FeatureWay, Terrain
from loopwright.model.ids import StretchId, Way

A = StretchId("a")


def ramp(*points: tuple[float, float]) -> Terrain:
    """One straight stretch east; points are (metres along it, height)."""
    run, ele = np.array(points).T
    line = path((0, 0), (float(run[-1]), 0))
    return assess(network_of(line, height=lambda xy: np.interp(xy[:, 0], run, ele)))


def test_a_climb_one_way_is_a_descent_the_other() -> None:
    terrain = ramp((0, 0), (100, 0), (300, 12), (500, 12))
    (climb,) = found(terrain, FeatureKind.CLIMB)
    (descent,) = found(terrain, FeatureKind.DESCENT)
    assert (climb.way, descent.way) == (FeatureWay.FORWARD, FeatureWay.BACKWARD)
    assert (climb.from_m, climb.to_m) == pytest.approx((100, 300), abs=8)
    assert climb.gain_m == pytest.approx(12, abs=0.3)
    assert climb.grade_mean == pytest.approx(0.06, rel=0.06)
    assert descent.gain_m == climb.gain_m
    assert descent.grade_mean == -climb.grade_mean
    assert terrain.amounts[A, Way.FORWARD]["climb_gain_m"] == climb.gain_m
    assert terrain.amounts[A, Way.BACKWARD]["descent_m"] == climb.to_m - climb.from_m
    assert "climb_gain_m" not in terrain.amounts[A, Way.BACKWARD]


def test_a_steep_climb_is_held_for_30_m() -> None:
    terrain = ramp((0, 0), (100, 2), (160, 10), (300, 16))
    (steep,) = found(terrain, FeatureKind.STEEP_CLIMB)
    assert (steep.from_m, steep.to_m) == pytest.approx((100, 160), abs=10)
    assert steep.grade_max == pytest.approx(8 / 60, rel=0.08)
    assert found(ramp((0, 0), (100, 3), (115, 5.5), (300, 12)), FeatureKind.STEEP_CLIMB) == []


def test_a_short_dip_does_not_end_a_climb_but_a_long_one_does() -> None:
    one = ramp((0, 0), (150, 9), (160, 8.9), (300, 18))
    two = ramp((0, 0), (150, 9), (200, 8), (350, 18))
    assert len(found(one, FeatureKind.CLIMB)) == 1
    assert len(found(two, FeatureKind.CLIMB)) == 2


def test_gentle_or_tiny_rises_are_no_climbs() -> None:
    assert found(ramp((0, 0), (500, 10)), FeatureKind.CLIMB) == []
    assert found(ramp((0, 0), (100, 0), (140, 2.4), (300, 2.4)), FeatureKind.CLIMB) == []


def test_rough_descents_are_descents_on_rough_ground() -> None:
    line = path((0, 0), (400, 0))
    network = network_of(line, height=lambda xy: 40 - 0.1 * xy[:, 0])
    for words in ({"roughness": "bad"}, {"surface": "rock"}, {"roots": True}):
        terrain = assess(network, [tag_on(line[100:221], **words)])
        (rough,) = found(terrain, FeatureKind.ROUGH_DESCENT)
        assert (rough.from_m, rough.to_m) == pytest.approx((100, 220), abs=1)
        assert rough.way is FeatureWay.FORWARD
        assert rough.gain_m == pytest.approx(12, abs=0.3)
        assert terrain.amounts[A, Way.FORWARD]["rough_descent_m"] == pytest.approx(120, abs=1)
        assert "rough_descent_m" not in terrain.amounts[A, Way.BACKWARD]
    smooth = assess(network, [tag_on(line, roughness="intermediate", surface="dirt")])
    assert found(smooth, FeatureKind.ROUGH_DESCENT) == []
    assert found(assess(network), FeatureKind.ROUGH_DESCENT) == []


def test_rough_ground_of_several_kinds_is_one_descent_and_a_few_metres_are_none() -> None:
    line = path((0, 0), (400, 0))
    network = network_of(line, height=lambda xy: 40 - 0.1 * xy[:, 0])
    tags = [
        tag_on(line[100:161], surface="rock"), tag_on(line[160:221], roughness="bad"),
        tag_on(line[300:310], surface="rock"),
    ]  # fmt: skip
    (rough,) = found(assess(network, tags), FeatureKind.ROUGH_DESCENT)
    assert (rough.from_m, rough.to_m) == pytest.approx((100, 220), abs=1)


def test_a_straight_is_long_straight_and_level() -> None:
    line = bent((90, 0), (12, 90), (40, 0), (12, -90), (90, 0))
    terrain = assess(network_of(line))
    straights = found(terrain, FeatureKind.STRAIGHT)
    assert [s.to_m - s.from_m for s in straights] == pytest.approx([90, 90], abs=6)
    assert terrain.amounts[A, Way.FORWARD]["straights"] == 2
    steep = assess(network_of(path((0, 0), (200, 0)), height=lambda xy: 0.05 * xy[:, 0]))
    assert found(steep, FeatureKind.STRAIGHT) == []


def test_a_funnel_leads_from_wide_to_narrow_near_the_end_of_a_straight() -> None:
    line = bent((120, 0), (14, 90), (60, 0))
    near = [tag_on(line[:131], width="wide"), tag_on(line[130:], width="narrow")]
    terrain = assess(network_of(line), near)
    (funnel,) = found(terrain, FeatureKind.FUNNEL)
    assert funnel.way is FeatureWay.FORWARD
    assert terrain.amounts[A, Way.FORWARD]["funnels"] == 1
    assert "funnels" not in terrain.amounts[A, Way.BACKWARD]
    far = [tag_on(line[:50], width="wide"), tag_on(line[49:], width="narrow")]
    assert found(assess(network_of(line), far), FeatureKind.FUNNEL) == []


def test_a_funnel_may_lie_at_a_junction() -> None:
    wide, narrow = path((0, 0), (150, 0)), path((150, 0), (250, 0))
    tags = [tag_on(wide, width="wide"), tag_on(narrow, width="narrow")]
    (passage,) = assess(network_of(wide, narrow), tags).passages
    assert passage.amounts == {"funnels": 1.0}
    assert passage.before == (StretchId("a"), Way.FORWARD)


def test_a_steady_part_has_no_corner_and_one_grade() -> None:
    line = bent((200, 0), (14, 90), (150, 0))
    height = np.interp(np.arange(len(line)), [0, 200, 215, 364], [0, 8, 8, 8])
    terrain = assess(network_of(line, height=lambda _: height))
    parts = found(terrain, FeatureKind.STEADY)
    assert [(round(p.from_m, -1), round(p.to_m, -1)) for p in parts] == [(0, 200), (220, 360)]
    assert terrain.amounts[A, Way.BACKWARD]["steady_m"] == pytest.approx(340, abs=12)


class Stopping(Silent):
    """A report that asks to stop at the n-th check."""

    def __init__(self, after: int) -> None:
        self.left = after

    def check(self) -> None:
        self.left -= 1
        if self.left < 0:
            raise Cancelled


def test_an_assessment_can_be_stopped_anywhere() -> None:
    line = path((0, 0), (300, 0))
    network, tags = network_of(line), [tag_on(line, surface="mud")]
    counting = Stopping(10**6)
    assess(network, tags, report=counting)
    for after in range(0, 10**6 - counting.left, 5):
        with pytest.raises(Cancelled):
            assess(network, tags, report=Stopping(after))


def test_an_empty_network_has_no_features() -> None:
    terrain = assess(network_of(), [tag_on(path((0, 0), (50, 0)), surface="mud")])
    assert terrain.features == ()
    assert terrain.passages == ()
    assert len(terrain.unfit) == 1


def test_stretches_of_hardly_any_length_do_no_harm() -> None:
    point = np.array([[100.0, 0.0], [100.0, 0.0]])
    network = network_of(path((0, 0), (100, 0)), point, path((100, 0), (102, 0)))
    terrain = assess(network)
    assert terrain.lengths_m[StretchId("b")] < 0.1
    assert all(value > 0 for amounts in terrain.amounts.values() for value in amounts.values())
    arcs = tuple((StretchId(key), Way.FORWARD) for key in "abc")
    assert np.isfinite(unroll(terrain, arcs, name="short").xy).all()


def test_without_heights_nothing_is_said_of_grades() -> None:
    line = bent((120, 0), (14, 90), (120, 0))
    terrain = assess(network_of(line, height=lambda xy: np.full(len(xy), np.nan)))
    assert {f.kind for f in terrain.features} == {FeatureKind.CORNER}
    assert terrain.ascents_m[A, Way.FORWARD] == 0
    assert set(terrain.amounts[A, Way.FORWARD]) == {"corners", "ground_m:unknown"}


def test_flat_noisy_ground_gives_no_climb() -> None:
    chance = np.random.default_rng(7)
    lines = [path((0, 60.0 * k), (500, 60.0 * k), step_m=2.5) for k in range(8)]
    noise = {float(line[0, 1]): chance.normal(0, 1.0, len(line)) for line in lines}
    network = network_of(*lines, height=lambda xy: noise[float(xy[0, 1])][: len(xy)])
    terrain = assess(network)
    assert {f.kind for f in terrain.features} == {FeatureKind.STRAIGHT, FeatureKind.STEADY}
    assert sum(terrain.ascents_m.values()) < 2


@given(
    heights=st.lists(st.floats(0, 30), min_size=4, max_size=8),
    turn=st.floats(-150, 150),
)
@example([17.0, 11.5, 12.0, 0.0, 0.0, 0.0, 0.0], 0.0)
def test_amounts_are_sums_never_negative_and_the_same_stored_either_way(
    heights: list[float], turn: float
) -> None:
    line = bent((150, 0), (20, turn), (150, 0))
    ele = np.interp(np.linspace(0, 1, len(line)), np.linspace(0, 1, len(heights)), heights)
    network = network_of(line, height=lambda xy: ele[: len(xy)])
    here, other = assess(network), assess(turned_round(network, ["a"]))
    for way in Way:
        amounts = here.amounts[A, way]
        assert all(value > 0 for value in amounts.values())
        assert amounts == pytest.approx(dict(other.amounts[A, way.other]), abs=1e-6)
        assert here.ascents_m[A, way] == pytest.approx(other.ascents_m[A, way.other], abs=1e-6)
        climbs = [f for f in here.features if f.kind is FeatureKind.CLIMB and f.way.counts(way)]
        assert amounts.get("climb_gain_m", 0) == pytest.approx(sum(c.gain_m for c in climbs))
        # Between two climbs the trail may fall by less than ascent tells.
        unseen = LEAST_RISE_M * max(len(climbs) - 1, 0)
        assert here.ascents_m[A, way] >= amounts.get("climb_gain_m", 0) - unseen - 1e-6
        ground = sum(v for k, v in amounts.items() if k.startswith("ground_m:"))
        assert ground == pytest.approx(here.lengths_m[A])


def test_grade_error_is_told_and_larger_at_the_ends() -> None:
    chance = np.random.default_rng(9)
    line = path((0, 0), (800, 0), step_m=2.5)
    ele = 10 * np.sin(line[:, 0] / 60) + chance.normal(0, 0.6, len(line))
    error = assess(network_of(line, height=lambda _: ele[: len(_)])).profiles[A].grade_error
    assert 0.002 < np.median(error) < 0.05
    assert error[0] > np.median(error)


def test_heights_of_stretches_agree_at_their_junction() -> None:
    chance = np.random.default_rng(10)
    one, two = path((0, 0), (200, 0), step_m=2.5), path((200, 0), (400, 30), step_m=2.5)

    def noisy(xy: Floats) -> Floats:
        return level(xy) + 0.05 * xy[:, 0] + chance.normal(0, 0.5, len(xy))

    profiles = assess(network_of(one, two, height=noisy)).profiles
    assert profiles[A].ele_m[-1] == pytest.approx(profiles[StretchId("b")].ele_m[0], abs=1e-3)
