"""Corners are where the definition says, on stretches and at junctions."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from features_help import bent, found, moved, network_of, path, tag_on
from loopwright.features import assess, unroll
from loopwright.features.bends import bends
from loopwright.geo import polyline
from loopwright.model.arrays import Floats
from loopwright.model.ground import Feature, FeatureKind, Passage, Terrain
from loopwright.model.ids import StretchId, Way

CORNER = FeatureKind.CORNER


def corners_of(line: Floats, error_m: float = 0.0) -> list[Feature]:
    return found(assess(network_of(line, error_m=error_m)), CORNER)


def arc(radius_m: float, turn_deg: float) -> tuple[float, float]:
    return (radius_m * abs(np.radians(turn_deg)), turn_deg)


@pytest.mark.parametrize(("radius_m", "turn_deg"), [(5, 180), (8, -90), (15, 60), (20, -135)])
def test_a_corner_has_its_turn_radius_hand_and_place(radius_m: float, turn_deg: float) -> None:
    length = arc(radius_m, turn_deg)[0]
    (corner,) = corners_of(bent((80, 0), arc(radius_m, turn_deg), (80, 0)))
    assert corner.turn_deg == pytest.approx(turn_deg, abs=6)
    assert corner.radius_m == pytest.approx(radius_m, rel=0.12)
    assert corner.from_m - 3 <= 80 + length / 2 <= corner.to_m + 3
    assert abs(corner.at_m - (80 + length / 2)) < length / 2 + 1
    assert corner.tight == (radius_m < 6 or abs(turn_deg) >= 120)


@pytest.mark.parametrize(("radius_m", "turn_deg"), [(10, 35), (30, 90), (60, 180), (23, -38)])
def test_what_is_no_corner(radius_m: float, turn_deg: float) -> None:
    assert corners_of(bent((60, 0), arc(radius_m, turn_deg), (60, 0))) == []


def test_turns_of_both_hands_are_corners_of_their_own() -> None:
    line = bent((50, 0), arc(10, 80), (15, 0), arc(10, -80), (15, 0), arc(10, -80), (50, 0))
    assert [round(c.turn_deg, -1) for c in corners_of(line)] == [80, -80, -80]


@pytest.mark.parametrize(("radius_m", "count"), [(20, 1), (26, 0)])
def test_a_bend_wider_than_a_corner_is_none_however_calm_the_line(
    radius_m: float, count: int
) -> None:
    """Smoothing an uncertain line lowers the limit of its curvature, not that of the radius."""
    line = bent((60, 0), arc(radius_m, 90), (60, 0))
    dist = polyline.stations(polyline.length_m(line), 2.5)
    assert len(bends(dist, polyline.at(line, dist), blur_m=4.5)) == count


def test_a_wobble_of_an_uncertain_line_is_no_corner() -> None:
    chance = np.random.default_rng(3)
    line = path((0, 0), (600, 0), step_m=2.5)
    slow = np.convolve(chance.normal(0, 6.0, len(line) + 11), np.full(12, 1 / 12), mode="valid")
    line[:, 1] += slow[: len(line)]
    assert corners_of(line, error_m=1.5) == []


@given(st.floats(0, 360), st.floats(-900, 900), st.floats(-900, 900))
def test_corners_do_not_depend_on_where_the_park_lies(deg: float, x: float, y: float) -> None:
    network = network_of(bent((70, 0), arc(7, 150), (40, 0), arc(12, -60), (70, 0)))
    turn = np.array([[np.cos(np.radians(deg)), np.sin(np.radians(deg))],
                     [-np.sin(np.radians(deg)), np.cos(np.radians(deg))]])  # fmt: skip
    there = assess(moved(network, lambda xy: xy @ turn + np.array([x, y])))
    for here, other in zip(found(assess(network), CORNER), found(there, CORNER), strict=True):
        assert other.turn_deg == pytest.approx(here.turn_deg, abs=0.01)
        assert other.radius_m == pytest.approx(here.radius_m, rel=1e-3)
        assert other.at_m == pytest.approx(here.at_m, abs=0.01)


def test_a_banked_tag_makes_the_corner_banked() -> None:
    line = bent((60, 0), arc(8, 90), (60, 0), arc(8, 90), (60, 0))
    terrain = assess(network_of(line), [tag_on(line[50:90], banked=True)])
    assert [corner.banked for corner in found(terrain, CORNER)] == [True, False]


def crossing(angle_deg: float = 90.0) -> Terrain:
    """a comes in from the west; b goes on east; c leaves at an angle, left positive."""
    x, y = 150 * np.cos(np.radians(angle_deg)), 150 * np.sin(np.radians(angle_deg))
    lines = path((-150, 0), (0, 0)), path((0, 0), (150, 0)), path((0, 0), (x, y))
    return assess(network_of(*lines))


def passage(terrain: Terrain, before: tuple[str, Way], after: tuple[str, Way]) -> Passage | None:
    want = ((StretchId(before[0]), before[1]), (StretchId(after[0]), after[1]))
    return next((p for p in terrain.passages if (p.before, p.after) == want), None)


@pytest.mark.parametrize("angle_deg", [60.0, 90.0, -120.0])
def test_a_turn_at_a_junction_belongs_to_the_passage(angle_deg: float) -> None:
    terrain = crossing(angle_deg)
    assert [f for f in terrain.features if f.kind is CORNER] == []
    turn = passage(terrain, ("a", Way.FORWARD), ("c", Way.FORWARD))
    assert turn is not None
    assert turn.corner is not None
    assert turn.amounts["corners"] == 1
    assert turn.corner.turn_deg == pytest.approx(angle_deg, abs=5)
    assert turn.corner.radius_m <= 25


def test_a_kink_is_ridden_no_tighter_than_a_bike_turns() -> None:
    terrain = crossing(150)
    turn = passage(terrain, ("a", Way.FORWARD), ("c", Way.FORWARD))
    assert turn is not None
    assert turn.corner is not None
    assert turn.corner.radius_m >= 2
    assert turn.amounts["tight_corners"] == 1
    arcs = ((StretchId("a"), Way.FORWARD), (StretchId("c"), Way.FORWARD))
    assert np.abs(unroll(terrain, arcs, name="kink").curvature_per_m).max() == pytest.approx(0.5)


def test_going_straight_on_adds_nothing() -> None:
    assert passage(crossing(), ("a", Way.FORWARD), ("b", Way.FORWARD)) is None


def test_the_way_back_has_the_same_corner_turned_the_other_way() -> None:
    terrain = crossing(70)
    there = passage(terrain, ("a", Way.FORWARD), ("c", Way.FORWARD))
    back = passage(terrain, ("c", Way.BACKWARD), ("a", Way.BACKWARD))
    assert there is not None
    assert back is not None
    assert there.corner is not None
    assert back.corner is not None
    assert back.corner.turn_deg == -there.corner.turn_deg
    assert back.corner.radius_m == there.corner.radius_m
    assert back.amounts == there.amounts


def test_straight_back_along_a_stretch_is_no_passage() -> None:
    terrain = crossing()
    assert all(p.before[0] != p.after[0] for p in terrain.passages)


def test_a_corner_just_before_a_junction_counts_once() -> None:
    into = bent((100, 0), arc(8, 90), (4, 0))
    out = path(
        (float(into[-1, 0]), float(into[-1, 1])), (float(into[-1, 0]), float(into[-1, 1]) + 100)
    )
    terrain = assess(network_of(into, out))
    turn = passage(terrain, ("a", Way.FORWARD), ("b", Way.FORWARD))
    on_stretch = len(found(terrain, CORNER))
    at_junction = 0 if turn is None else turn.amounts.get("corners", 0)
    assert on_stretch + at_junction == 1


def test_a_ring_has_a_passage_over_its_seam() -> None:
    square = path((0, 0), (120, 0), (120, 120), (0, 120), (0, 0))
    terrain = assess(network_of(square))
    seam = passage(terrain, ("a", Way.FORWARD), ("a", Way.FORWARD))
    assert len(found(terrain, CORNER)) == 3
    assert seam is not None
    assert seam.amounts["corners"] == 1
