"""After a ride: what was ridden, what might be rough, what to look at next."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from features_help import OCEAN, bent, network_of, path, tag_on
from loopwright.features import assess
from loopwright.features.replay import RiddenPart, line_of, lines_of, replay
from loopwright.features.roughness import suggest_roughness
from loopwright.features.supposing import supposing, supposing_rough, untagged_m
from loopwright.features.tag_next import candidates, what_to_tag
from loopwright.geo.frame import to_local
from loopwright.geo.polyline import along
from loopwright.model.arrays import Floats
from loopwright.model.ground import Tag, Terrain
from loopwright.model.ids import RideId, StretchId, Way
from loopwright.model.network import Network, Pass
from loopwright.model.track import CleanTrack, TrackPiece

A, B, C = StretchId("a"), StretchId("b"), StretchId("c")


def fork() -> Network:
    """a runs 300 m down to the fork; b goes on down, c up."""
    return network_of(
        path((0, 0), (300, 0)), path((300, 0), (600, 40)), path((300, 0), (560, -150)),
        height=lambda xy: 60 - 0.08 * xy[:, 0] - 0.06 * xy[:, 1],
    )  # fmt: skip


def ridden(*lines: Floats, name: str = "ride", speed_mps: float = 5.0) -> CleanTrack:
    pieces, first, start = [], 0, 0.0
    for line in lines:
        rows = line[:: max(1, round(speed_mps))]
        time = start + along(rows) / speed_mps
        index = np.arange(first, first + len(rows), dtype=np.int32)
        pieces.append(TrackPiece(xy=rows, ele_m=np.zeros(len(rows)), time_s=time, index=index))
        first, start = first + len(rows), float(time[-1]) + 30
    return CleanTrack(ride=RideId(name), pieces=tuple(pieces))


def order(parts: tuple[RiddenPart, ...]) -> list[tuple[str, str, int, int]]:
    return [(p.arc[0], p.arc[1].value, round(p.from_m), round(p.to_m)) for p in parts]


def test_a_ride_is_replayed_stretch_by_stretch_with_what_is_known() -> None:
    tags = [tag_on(path((0, 0), (120, 0)), surface="mud", roughness="bad")]
    terrain = assess(fork(), tags)
    parts = replay(ridden(path((300, 0), (0, 0))), terrain)
    assert order(parts) == [("a", "backward", 0, 300)]
    assert [(round(s.from_m), round(s.to_m), s.surface) for s in parts[0].spans] == [
        (0, 120, "mud"), (120, 300, "unknown")]  # fmt: skip
    assert not parts[0].known


def test_ground_ridden_twice_is_marked_and_a_pause_does_not_part_it() -> None:
    terrain = assess(fork(), [])
    track = ridden(
        path((10, 1), (150, 1)), path((160, 1), (299, 1), (559, -150)), path((300, 0), (598, 41))
    )
    parts = replay(track, terrain)
    assert [(key, way) for key, way, *_ in order(parts)] == [
        ("a", "forward"), ("c", "forward"), ("b", "forward")]  # fmt: skip
    assert [part.again for part in parts] == [False, False, False]
    again = replay(ridden(path((0, 0), (300, 0)), path((300, 0), (0, 0))), terrain)
    assert [part.again for part in again] == [False, True]


def test_a_ride_elsewhere_has_nothing_to_replay() -> None:
    assert replay(ridden(path((0, 500), (300, 500))), assess(fork())) == ()


def test_the_line_of_a_part_anchors_a_tag_that_comes_back_to_it() -> None:
    terrain = assess(fork())
    (part,) = replay(ridden(path((300, 0), (40, 0))), terrain)
    line = line_of(terrain, part.arc, from_m=part.from_m, to_m=part.to_m)
    local = to_local(OCEAN, line[:, 1], line[:, 0])
    assert local[0] == pytest.approx([300, 0], abs=0.1)
    assert local[-1] == pytest.approx([part.from_m, 0], abs=0.1)
    tagged = assess(fork(), [Tag(line=line, surface="grass")])
    assert tagged.amounts[A, Way.FORWARD]["ground_m:grass"] == pytest.approx(part.length_m, abs=1)


def test_lines_of_many_parts_are_those_of_each() -> None:
    terrain = assess(fork())
    parts = [((A, Way.FORWARD), 20.0, 90.0), ((B, Way.BACKWARD), 0.0, 50.0)]
    together = lines_of(terrain, parts)
    for line, (arc, low, high) in zip(together, parts, strict=True):
        assert line.tolist() == line_of(terrain, arc, from_m=low, to_m=high).tolist()
    assert lines_of(terrain, []) == []


def test_supposing_rough_adds_rough_descents_on_untagged_ground_only() -> None:
    terrain = assess(fork(), [tag_on(path((0, 0), (300, 0)), surface="dirt")])
    rough = supposing_rough(terrain, [A, B, C])
    assert rough.amounts[A, Way.FORWARD] == terrain.amounts[A, Way.FORWARD]
    assert "rough_descent_m" not in terrain.amounts[B, Way.FORWARD]
    assert rough.amounts[B, Way.FORWARD]["rough_descent_m"] > 250
    assert rough.network is terrain.network
    assert untagged_m(terrain, A) == 0
    assert untagged_m(terrain, B) == pytest.approx(terrain.lengths_m[B])


def test_supposing_words_fills_the_unknown_as_tags_would() -> None:
    line = path((300, 0), (600, 40))
    supposed = supposing(assess(fork()), [B], surface="rock", width="narrow")
    tagged = assess(fork(), [tag_on(line, surface="rock", width="narrow")])
    for way in Way:
        assert supposed.amounts[B, way] == pytest.approx(dict(tagged.amounts[B, way]))


def test_supposing_what_is_known_changes_nothing() -> None:
    terrain = assess(fork(), [tag_on(path((0, 0), (300, 0)), surface="dirt", roughness="good")])
    assert supposing_rough(terrain, [A]) is terrain


def rough_metres(terrain: Terrain) -> float:
    """A stand-in for a search: the best loop rides b down."""
    return terrain.amounts[B, Way.FORWARD].get("rough_descent_m", 0.0) / 10


def test_what_to_tag_ranks_by_what_a_look_could_bring() -> None:
    terrain = assess(fork())
    outlook = what_to_tag(terrain, best=rough_metres)
    assert outlook.now == 0
    assert outlook.at_most > 25
    assert [item.stretch for item in outlook.stretches] == [B]
    assert outlook.stretches[0].gain == outlook.at_most
    assert set(candidates(terrain)) == {A, B, C}
    known = assess(fork(), [tag_on(path((300, 0), (600, 40)), surface="gravel")])
    assert what_to_tag(known, best=rough_metres).stretches == ()


def with_passes(
    network: Network, tracks: list[CleanTrack], stretch: StretchId, way: Way = Way.FORWARD
) -> Network:
    """Say that every track rode ``stretch`` one ``way`` from its first to its last point."""
    passes = tuple(
        Pass(ride=t.ride, way=way, time_s=0.0, first=0, last=int(t.pieces[-1].index[-1]))
        for t in tracks
    )
    rows = tuple(replace(s, passes=passes) if s.id == stretch else s for s in network.stretches)
    return replace(network, stretches=rows)


def slowed(name: str, share: float) -> CleanTrack:
    """900 m on the level at 6 m/s, at ``share`` of it between 300 and 600 m; one point a second."""
    run = [0.0]
    while run[-1] < 899:
        run.append(run[-1] + 6.0 * (share if 300 <= run[-1] < 600 else 1.0))
    xy = np.column_stack((np.minimum(run, 900), np.zeros(len(run))))
    index = np.arange(len(run), dtype=np.int32)
    piece = TrackPiece(xy=xy, ele_m=np.zeros(len(run)), time_s=index.astype(float), index=index)
    return CleanTrack(ride=RideId(name), pieces=(piece,))


@pytest.mark.parametrize(("share", "word"), [(0.5, "very_bad"), (0.68, "bad"), (0.9, None)])
def test_roughness_is_suggested_where_riders_slow_down(share: float, word: str | None) -> None:
    tracks = [slowed(f"r{k}", share) for k in range(3)]
    network = network_of(path((0, 0), (300, 0)), path((300, 0), (600, 0)), path((600, 0), (900, 0)))
    for stretch in (A, B, C):
        network = with_passes(network, tracks, stretch)
    found = suggest_roughness(assess(network), tracks)
    assert {key: item.word for key, item in found.items()} == ({} if word is None else {B: word})
    if word is not None:
        assert found[B].speed_share == pytest.approx(share, abs=0.05)
        assert found[B].passes == 3
    tagged = assess(network, [tag_on(path((300, 0), (600, 0)), roughness="good")])
    assert suggest_roughness(tagged, tracks) == {}
    assert suggest_roughness(assess(network), tracks[:1]) == {}


def timed(xy: Floats, time_s: Floats, name: str) -> CleanTrack:
    rows = np.arange(len(xy), dtype=np.int32)
    piece = TrackPiece(xy=xy, ele_m=np.zeros(len(xy)), time_s=time_s, index=rows)
    return CleanTrack(ride=RideId(name), pieces=(piece,))


def level_trail() -> Network:
    return network_of(path((0, 0), (300, 0)), path((300, 0), (600, 0)), path((600, 0), (900, 0)))


def suggested(tracks: list[CleanTrack], network: Network, way: Way = Way.FORWARD) -> set[str]:
    for stretch in (A, B, C):
        network = with_passes(network, tracks, stretch, way)
    return set(suggest_roughness(assess(network), tracks))


def test_rides_the_other_way_suggest_the_same() -> None:
    tracks = [slowed(f"r{k}", 0.5) for k in range(3)]
    back = [timed(t.pieces[0].xy[::-1], t.pieces[0].time_s, f"back {t.ride}") for t in tracks]
    assert suggested(back, level_trail(), Way.BACKWARD) == {B}


def test_rides_without_times_or_not_given_suggest_nothing() -> None:
    tracks = [slowed(f"r{k}", 0.5) for k in range(3)]
    bare = [timed(t.pieces[0].xy, np.full(len(t.pieces[0].xy), np.nan), t.ride) for t in tracks]
    assert suggested(bare, level_trail()) == set()
    known = with_passes(level_trail(), tracks, B)
    assert suggest_roughness(assess(known), []) == {}


def test_a_few_metres_suggest_nothing() -> None:
    """Neither a stretch of three bins nor a pass of less than two says how fast ground is."""
    tracks = [slowed(f"r{k}", 0.5) for k in range(3)]
    short = network_of(path((0, 0), (300, 0)), path((300, 0), (370, 0)), path((370, 0), (900, 0)))
    assert suggested(tracks, short) == set()
    stub = with_passes(level_trail(), tracks, A)
    (first, *rest) = stub.stretches
    brief = tuple(replace(one, first=0, last=3) for one in first.passes)
    stub = replace(stub, stretches=(replace(first, passes=brief), *rest))
    assert suggest_roughness(assess(stub), tracks) == {}


def test_slowing_for_a_corner_is_no_rough_ground() -> None:
    """All the slow riding lies within 12 m of a tight corner."""
    line = bent((300, 0), (12, 150), (300, 0))
    way = along(line)
    corner_m = 306.0
    pace = np.where(np.abs(way - corner_m) < 12.0, 1.0, 6.0)
    clock = np.concatenate(([0.0], np.cumsum(np.diff(way) / pace[1:])))
    tracks = [timed(line, clock, f"r{k}") for k in range(3)]
    network = with_passes(network_of(line), tracks, A)
    assert suggest_roughness(assess(network), tracks) == {}
