"""Features judged on invented parks whose truth is known, from true lines and from rides."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
import pytest
from scipy.spatial import cKDTree

from loopwright.clean import clean_rides
from loopwright.features import assess
from loopwright.features.ground import span_at
from loopwright.features.replay import line_of
from loopwright.geo import polyline
from loopwright.invented.park import Park, make_park
from loopwright.invented.riders import ride_park
from loopwright.model.arrays import Floats
from loopwright.model.ground import SURFACES, Feature, FeatureKind, Tag, Terrain
from loopwright.model.ids import RideId, Way
from loopwright.model.network import Network
from loopwright.model.track import RecordedTrack, Ride
from loopwright.network import build_network

NEAR_M = 10.0
JUNCTION_M = 15.0
"""Corners this near to a true junction may be told by its passages instead."""


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


def places(network: Network, corners: list[Feature]) -> Floats:
    lines = {s.id: s.xy for s in network.stretches}
    rows = [polyline.at(lines[c.stretch], np.array([c.at_m]))[0] for c in corners]
    return np.array(rows).reshape(-1, 2)


def of_kind(features: tuple[Feature, ...], kind: FeatureKind) -> list[Feature]:
    return [f for f in features if f.kind is kind]


def corner_figures(truth: Park, terrain: Terrain) -> tuple[float, float, float]:
    """Recall, precision and median radius error of corners matched one to one within 10 m."""
    true, got = (of_kind(x.features, FeatureKind.CORNER) for x in (truth, terrain))
    at_true, at_got = places(truth.network, true), places(terrain.network, got)
    turned = [p.corner for p in terrain.passages if p.corner is not None]
    at_passage = cKDTree(places(terrain.network, turned))
    gap = np.hypot(*(at_true[:, None] - at_got[None]).transpose(2, 0, 1))
    pairs: dict[int, int] = {}
    for i, k in sorted(np.argwhere(gap < NEAR_M).tolist(), key=lambda pair: gap[tuple(pair)]):
        if i not in pairs and k not in pairs.values():
            pairs[i] = k
    missed = [i for i in range(len(true)) if i not in pairs]
    told = sum(bool(at_passage.query(at_true[i])[0] < NEAR_M) for i in missed)
    forks = cKDTree(np.array([j.xy for j in truth.network.junctions]))
    extra = [k for k in range(len(got)) if k not in pairs.values()]
    wrong = sum(bool(forks.query(at_got[k])[0] > JUNCTION_M) for k in extra)
    radius = [abs(got[k].radius_m / true[i].radius_m - 1) for i, k in pairs.items()]
    return (
        (len(pairs) + told) / len(true),
        len(pairs) / (len(pairs) + wrong),
        float(np.median(radius)),
    )


def climb_rows(network: Network, features: tuple[Feature, ...]) -> tuple[Floats, Floats]:
    """Places and ways every 3 m of every arc ``(n, 4)``, and 1 where it climbs ``(n,)``."""
    rows, up = [], []
    for s in network.stretches:
        run = np.arange(1.0, polyline.length_m(s.xy), 3.0)
        if len(run) < 2:
            continue
        xy = polyline.at(s.xy, run)
        turn = polyline.headings(xy)
        for way, half in (("forward", 0.0), ("backward", np.pi)):
            ways = 20 * np.column_stack((np.cos(turn + half), np.sin(turn + half)))
            rows.append(np.hstack((xy, ways)))
            up.append(
                np.any(
                    [
                        (run >= f.from_m) & (run <= f.to_m)
                        for f in of_kind(features, FeatureKind.CLIMB)
                        if f.stretch == s.id and f.way.value == way
                    ]
                    or [np.zeros(len(run), dtype=bool)],
                    axis=0,
                )
            )
    return np.concatenate(rows), np.concatenate(up).astype(np.float64)


def climb_figures(truth: Park, terrain: Terrain) -> tuple[float, float]:
    """Recall and precision of climbs by length, where the other network has a trail."""
    true = climb_rows(truth.network, truth.features)
    got = climb_rows(terrain.network, terrain.features)
    shares = []
    for here, there in ((true, got), (got, true)):
        gap, other = cKDTree(there[0]).query(here[0])
        up = (here[1] > 0) & (gap < 15)
        shares.append(float(there[1][other][up].mean()))
    return shares[0], shares[1]


@pytest.mark.parametrize(("seed", "style"), [(1, "park"), (2, "park"), (5, "park"), (1, "hard")])
def test_corners_and_climbs_of_true_lines(seed: int, style: str) -> None:
    truth = park(seed, style)
    terrain = assess(truth.network)
    recall, precision, radius = corner_figures(truth, terrain)
    assert recall >= 0.93
    assert precision >= 0.9
    assert radius <= 0.10
    assert climb_figures(truth, terrain)[0] >= 0.97


def test_corners_and_climbs_of_ridden_parks() -> None:
    figures = [corner_figures(park(s, "park"), ridden(s, "park")) for s in (2, 7)]
    recall, precision, radius = np.mean(figures, axis=0)
    assert recall >= 0.87
    assert precision >= 0.87
    assert radius <= 0.25
    climbs = np.mean([climb_figures(park(s, "park"), ridden(s, "park")) for s in (2, 7)], axis=0)
    assert climbs[0] >= 0.93


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
        recall, precision, _ = corner_figures(truth, terrain)
        assert recall == precision == 1


def test_lap_ascent_of_true_lines_within_3_percent() -> None:
    for seed in (1, 2, 5):
        truth = park(seed, "park").network
        raw = sum(float(np.abs(np.diff(s.ele_m)).sum()) for s in truth.stretches)
        assert sum(assess(truth).ascents_m.values()) == pytest.approx(raw, rel=0.03)
