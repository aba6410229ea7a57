"""Features judged on invented parks whose truth is known, from true lines and from rides."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest
from scipy.spatial import cKDTree

from features_help import network_of, path
from loopwright.clean import clean_rides
from loopwright.features import assess
from loopwright.features.ground import span_at
from loopwright.features.judge import FeatureScores, score_features
from loopwright.features.replay import line_of
from loopwright.invented.park import Park, make_park
from loopwright.invented.riders import ride_park
from loopwright.model.arrays import Floats
from loopwright.model.ground import SURFACES, FeatureKind, Tag, Terrain
from loopwright.model.ids import RideId, Way
from loopwright.model.network import Network
from loopwright.model.track import RecordedTrack, Ride
from loopwright.network import build_network


@lru_cache(maxsize=8)
def park(seed: int, style: str) -> Park:
    return make_park(seed, style=style)


@lru_cache(maxsize=8)
def ridden(seed: int, style: str) -> Terrain:
    """The terrain built from twelve rides with 3 m of error."""
    truth = park(seed, style)
    tracks = ride_park(truth, rides=12, error_m=3.0, seed=seed)
    return assess(built(truth, tracks))


def built(truth: Park, tracks: Sequence[RecordedTrack]) -> Network:
    rides = [Ride(id=RideId(f"{k:016x}"), track=track) for k, track in enumerate(tracks)]
    clean = clean_rides(rides, truth.network.origin)
    return build_network(clean, truth.network.origin)


def scores(truth: Park, terrain: Terrain) -> FeatureScores:
    return score_features(truth.network, truth.features, terrain)


@pytest.mark.parametrize(("seed", "style"), [(1, "park"), (2, "park"), (5, "park"), (1, "hard")])
def test_corners_and_climbs_of_true_lines(seed: int, style: str) -> None:
    truth = park(seed, style)
    got = scores(truth, assess(truth.network))
    assert got.corner_recall >= 0.93
    assert got.corner_precision >= 0.9
    assert got.radius_error <= 0.10
    assert got.climb_recall >= 0.97
    assert got.steep_recall >= 0.93


def test_corners_and_climbs_of_ridden_parks() -> None:
    got = [scores(park(s, "park"), ridden(s, "park")) for s in (2, 7)]
    assert np.mean([s.corner_recall for s in got]) >= 0.87
    assert np.mean([s.corner_precision for s in got]) >= 0.85
    assert np.mean([s.radius_error for s in got]) <= 0.25
    assert np.mean([s.climb_recall for s in got]) >= 0.92
    assert np.mean([s.climb_precision for s in got]) >= 0.92


def test_the_judge_tells_what_is_missing_and_what_is_too_much() -> None:
    truth = park(1, "park")
    terrain = assess(truth.network)
    whole = scores(truth, terrain)
    corners = [f for f in terrain.features if f.kind is FeatureKind.CORNER]
    fewer = tuple(f for f in terrain.features if f not in corners[::2])
    wide = tuple(replace(f, radius_m=f.radius_m * 2) for f in terrain.features)
    moved = tuple(
        replace(f, at_m=f.at_m + 40.0) if f.kind is FeatureKind.CORNER else f
        for f in terrain.features
    )
    half = scores(truth, replace(terrain, features=fewer))
    assert half.corner_recall == pytest.approx(whole.corner_recall / 2, abs=0.06)
    assert half.climb_recall == whole.climb_recall
    assert scores(truth, replace(terrain, features=wide)).radius_error > 0.8
    assert scores(truth, replace(terrain, features=moved)).corner_precision < 0.3
    nothing = scores(truth, replace(terrain, features=(), passages=()))
    assert nothing.corner_recall == nothing.climb_recall == 0
    assert np.isnan(nothing.climb_precision)


def test_a_stretch_too_short_to_judge_is_left_out() -> None:
    line = path((0, 0), (300, 0))
    long, with_stub = network_of(line), network_of(line, path((300, 0), (302, 0)))
    climb = [f for f in assess(hilly(line)).features if f.kind is FeatureKind.CLIMB]
    got = [
        score_features(one, climb, replace(assess(one), features=tuple(climb)))
        for one in (long, with_stub)
    ]
    assert got[0].climb_recall == got[1].climb_recall == 1.0


def hilly(line: Floats) -> Network:
    return network_of(line, height=lambda xy: 0.08 * xy[:, 0])


def test_tags_keep_their_place_when_three_rides_are_added() -> None:
    truth = park(6, "park")
    tracks = ride_park(truth, rides=15, error_m=3.0, seed=6)
    before, after = built(truth, tracks[:12]), built(truth, tracks)
    plain, words = assess(before), SURFACES[1:]
    tags = [
        Tag(
            line=line_of(plain, (s.id, Way.FORWARD), from_m=0.0, to_m=plain.lengths_m[s.id]),
            surface=words[k % len(words)],
        )
        for k, s in enumerate(before.stretches)
    ]
    one, other = assess(before, tags), assess(after, tags)
    assert one.unfit == other.unfit == ()
    here, there = surfaces(one), surfaces(other)
    gap, near = cKDTree(here[0]).query(there[0])
    same = [here[1][k] == word for k, word in zip(np.ravel(near), there[1], strict=True)]
    assert np.mean(np.array(same)[gap < 6]) > 0.97


def surfaces(terrain: Terrain) -> tuple[Floats, list[str]]:
    """Places every 2.5 m ``(n, 2)`` and the surface there."""
    places_, words = [], []
    for key, profile in terrain.profiles.items():
        places_.append(profile.xy)
        words += [span_at(terrain.spans[key], at).surface for at in profile.dist_m.tolist()]
    return np.concatenate(places_), words


def test_a_flat_town_has_no_climbs_and_no_corners_but_its_streets() -> None:
    truth = park(1, "town")
    for terrain in (assess(truth.network), ridden(1, "town")):
        steep = {FeatureKind.CLIMB, FeatureKind.STEEP_CLIMB, FeatureKind.DESCENT}
        assert not steep & {f.kind for f in terrain.features}
        got = scores(truth, terrain)
        assert got.corner_recall == got.corner_precision == 1


def test_lap_ascent_of_true_lines_within_3_percent() -> None:
    for seed in (1, 2, 5):
        truth = park(seed, "park").network
        raw = sum(float(np.abs(np.diff(s.ele_m)).sum()) for s in truth.stretches)
        assert sum(assess(truth).ascents_m.values()) == pytest.approx(raw, rel=0.03)
