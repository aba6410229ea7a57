"""Invented parks have what they promise, and the same seed gives the same park."""

from __future__ import annotations

from collections import Counter
from itertools import combinations, pairwise

import numpy as np
import pytest
import shapely

from loopwright.errors import UsageError
from loopwright.geo.frame import geodesic_length_m, to_degrees
from loopwright.geo.polyline import length_m
from loopwright.invented.draft import Kind
from loopwright.invented.park import OPEN_OCEAN, STYLES, Park, make_park
from loopwright.model.ground import FeatureKind
from loopwright.model.ids import Ways


@pytest.fixture(scope="module", params=[(s, k) for s in STYLES for k in (1, 2, 3)])
def park(request: pytest.FixtureRequest) -> Park:
    style, seed = request.param
    return make_park(seed, style=style)


def test_stretches_end_on_their_junctions(park: Park) -> None:
    places = {j.id: j.xy for j in park.network.junctions}
    for stretch in park.network.stretches:
        assert stretch.xy[0] == pytest.approx(places[stretch.start])
        assert stretch.xy[-1] == pytest.approx(places[stretch.end])


def test_degrees_are_counted_right_and_none_is_a_pass_through(park: Park) -> None:
    ends = Counter(end for s in park.network.stretches for end in (s.start, s.end))
    rings = {s.start for s in park.network.stretches if s.start == s.end}
    for junction in park.network.junctions:
        assert junction.degree == ends[junction.id]
        assert junction.degree != 2 or junction.id in rings


def test_lines_cross_only_on_bridges(park: Park) -> None:
    lines = {s.id: shapely.LineString(s.xy[2:-2]) for s in park.network.stretches}
    crossed = [
        {park.kinds[a], park.kinds[b]}
        for a, b in combinations(lines, 2)
        if lines[a].crosses(lines[b])
    ]
    assert all(Kind.BRIDGE in pair for pair in crossed)
    assert len(crossed) == sum(kind is Kind.BRIDGE for kind in park.kinds.values())


def test_bridges_pass_well_above(park: Park) -> None:
    bridges = [s for s in park.network.stretches if park.kinds[s.id] is Kind.BRIDGE]
    for stretch in bridges:
        lift = stretch.ele_m - park.land.height(stretch.xy)
        assert lift.max() > 5.5
        assert lift[[0, -1]] == pytest.approx([0.0, 0.0], abs=1e-6)


def test_side_by_side_lines_keep_their_gap(park: Park) -> None:
    named = {s.id: s for s in park.network.stretches}
    for twin in (s for s in named.values() if park.kinds[s.id] is Kind.B_LINE):
        ends = {twin.start, twin.end}
        mates = [s for s in named.values() if {s.start, s.end} == ends and s is not twin]
        middle = twin.xy[len(twin.xy) // 2]
        gaps = [float(np.hypot(*(mate.xy - middle).T).min()) for mate in mates]
        assert any(7.0 < gap < 13.5 for gap in gaps)


def test_ground_covers_every_stretch_from_end_to_end(park: Park) -> None:
    for stretch in park.network.stretches:
        spans = park.spans[stretch.id]
        edges = [spans[0].from_m, *[span.to_m for span in spans]]
        assert edges[0] == 0.0
        assert edges[-1] == pytest.approx(length_m(stretch.xy), abs=0.2)
        assert edges == sorted(edges)
        assert all(a.to_m == b.from_m for a, b in pairwise(spans))


def test_features_lie_on_their_stretch_and_keep_the_definitions(park: Park) -> None:
    named = {s.id: length_m(s.xy) for s in park.network.stretches}
    for feature in park.features:
        assert 0.0 <= feature.from_m < feature.to_m <= named[feature.stretch] + 1.5
        if feature.kind is FeatureKind.CORNER:
            assert abs(feature.turn_deg) >= 45.0
            assert feature.radius_m <= 25.0
        if feature.kind is FeatureKind.STEEP_CLIMB:
            assert feature.grade_max >= 0.10


def test_same_seed_same_park_other_seed_another() -> None:
    one, two, three = make_park(5), make_park(5), make_park(6)
    for a, b in zip(one.network.stretches, two.network.stretches, strict=True):
        assert np.array_equal(a.xy, b.xy)
        assert np.array_equal(a.ele_m, b.ele_m)
    assert one.spans == two.spans
    assert not np.array_equal(one.network.stretches[0].xy, three.network.stretches[0].xy)


def test_hard_parks_are_hard() -> None:
    kinds = Counter(kind for k in range(3) for kind in make_park(k, style="hard").kinds.values())
    assert kinds[Kind.B_LINE] >= 15
    assert kinds[Kind.HAIRPIN] >= 18


def test_towns_are_flat_and_straight() -> None:
    town = make_park(2, style="town")
    heights = np.concatenate([s.ele_m for s in town.network.stretches])
    assert np.ptp(heights) < 5.0
    assert not any(f.kind is FeatureKind.CLIMB for f in town.features)


def test_pairs_are_long_and_ridden_up_on_the_one_and_down_on_the_other() -> None:
    for seed in range(3):
        park = make_park(seed, style="pairs")
        named = {stretch.id: stretch for stretch in park.network.stretches}
        drops: dict[Kind, list[float]] = {}
        for name, kind in park.kinds.items():
            if kind in {Kind.A_LINE, Kind.B_LINE}:
                one = named[name]
                assert one.ways in {Ways.FORWARD, Ways.BACKWARD}
                assert 240.0 < length_m(one.xy) < 900.0
                sign = 1.0 if one.ways is Ways.FORWARD else -1.0
                drops.setdefault(kind, []).append(sign * (one.ele_m[0] - one.ele_m[-1]))
        assert len(drops[Kind.A_LINE]) == len(drops[Kind.B_LINE]) >= 3
        assert max(drops[Kind.A_LINE]) <= 0.0 <= min(drops[Kind.B_LINE])


def links_m(style: str) -> list[float]:
    """Metres between junctions of three parks, shortest first."""
    links = []
    for seed in range(3):
        network = make_park(seed, style=style).network
        degree = {junction.id: junction.degree for junction in network.junctions}
        links += [
            length_m(s.xy) for s in network.stretches if min(degree[s.start], degree[s.end]) > 2
        ]
    return sorted(links)


def test_staggered_parks_have_junctions_near_each_other() -> None:
    near = [metres for metres in links_m("staggered") if metres < 35.0]
    assert len(near) > 25
    assert near[0] > 7.5
    assert links_m("park")[0] > 35.0


def test_unknown_style_is_refused_in_one_sentence() -> None:
    with pytest.raises(
        UsageError, match="style 'moon' is not one of park, hard, town, pairs, staggered"
    ):
        make_park(1, style="moon")


def test_the_ocean_is_far_from_land() -> None:
    # From memory: nearest land to 48.88 S 123.39 W, the oceanic pole of inaccessibility, is
    # about 2,690 km away; the island lies within 300 km of that point.
    lat, lon = to_degrees(OPEN_OCEAN, np.zeros((1, 2)))
    gap_m = geodesic_length_m(np.array([lat[0], -48.88]), np.array([lon[0], -123.39]))
    assert gap_m < 300_000
