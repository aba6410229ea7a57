"""The shared worlds are what they say."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from loopwright.geo.polyline import length_m
from loopwright.invented.riders import lay_out
from loopwright.invented.truth import true_features
from loopwright.model.ground import FeatureKind
from worlds import World, all_worlds, hairpins, ladder, lap_rides, one_way, rides_over, square


@pytest.mark.parametrize("world", all_worlds(), ids=lambda world: world.name)
def test_world_keeps_its_word(world: World) -> None:
    line, _, gates = lay_out(world.network, world.lap)
    assert length_m(line) == pytest.approx(world.lap_m, rel=2e-3)
    assert gates[-1] == pytest.approx(length_m(line))
    assert sum(j.degree >= 3 for j in world.network.junctions) == world.forks
    corners = [f for f in true_features(world.network) if f.kind is FeatureKind.CORNER]
    assert len(corners) == world.corners


@pytest.mark.parametrize("world", all_worlds(), ids=lambda world: world.name)
def test_rides_lie_within_the_error(world: World) -> None:
    tracks = rides_over(world, rides=3, error_m=2.0)
    assert len(tracks) == 3
    assert all(np.isfinite(track.lat).all() and len(track) > 20 for track in tracks)


def test_square_corners_turn_left_by_ninety_at_ten_metres() -> None:
    # The five metre mean trims a little off both ends of each corner.
    corners = [f for f in true_features(square().network) if f.kind is FeatureKind.CORNER]
    assert [f.turn_deg for f in corners] == pytest.approx([87.0] * 4, abs=5.0)
    assert [f.radius_m for f in corners] == pytest.approx([10.0] * 4, abs=2.0)


def test_hairpins_alternate() -> None:
    turns = sorted(
        (f.at_m, f.turn_deg)
        for f in true_features(hairpins().network)
        if f.kind is FeatureKind.CORNER
    )
    inner = [turn for _, turn in turns[1:-1]]
    assert all(abs(turn) > 150 for turn in inner)
    assert all(a * b < 0 for a, b in pairwise(inner))


def test_one_way_is_ridden_one_way() -> None:
    world = one_way(ladder(), "rung0")
    assert len(rides_over(world, rides=2)) == 2


def test_lap_rides_repeat_the_lap() -> None:
    one, two = (lap_rides(square(), rides=1, laps=k)[0] for k in (1, 2))
    assert len(two) == pytest.approx(2 * len(one), rel=0.1)
