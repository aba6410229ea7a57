"""Places on the ground and today's network: loops found again, starts, musts, far-away rides."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from loopwright.errors import NoAnswerError
from loopwright.features import assess
from loopwright.gather import gather
from loopwright.geo import polyline
from loopwright.geo.frame import to_degrees
from loopwright.io.tracks import ride_id
from loopwright.jobs import Silent
from loopwright.model.document import Document
from loopwright.model.ground import Terrain
from loopwright.model.ids import Way
from loopwright.model.loops import SavedLoop
from loopwright.model.network import Network
from loopwright.model.track import RecordedTrack, Ride, RideRole
from loopwright.model.wishes import Mix, Place, Wishes
from loopwright.places import arcs_of_line, closes, lap_line, resolve, with_start
from loopwright.reading import take_in
from worlds import World, all_worlds, figure_eight, ladder, rides_over, spur_beside

WISHES = Wishes(mix=Mix(name="m", targets={"corners": 1}))


def kept(terrain: Terrain, arcs: object, shift: int = 0) -> SavedLoop:
    line = lap_line(terrain, arcs)  # type: ignore[arg-type] # arcs of a world
    if shift:
        line = np.vstack((line[shift:-1], line[: shift + 1]))
    return SavedLoop(name="loop", line=line, wishes=WISHES, score=0, match=0)


@pytest.mark.parametrize(
    "world", [w for w in all_worlds() if closes(w.network, w.lap)], ids=lambda w: w.name
)
def test_a_loop_finds_itself_again(world: World) -> None:
    terrain = assess(world.network)
    arcs, start_m = arcs_of_line(terrain, kept(terrain, world.lap), Silent())
    turned = [tuple(arcs[k:] + arcs[:k]) for k in range(len(arcs))]
    assert tuple(world.lap) in turned
    assert start_m == pytest.approx(0, abs=6)


def test_a_start_in_the_middle_of_a_stretch_is_kept() -> None:
    world = figure_eight()
    terrain = assess(world.network)
    arcs, start_m = arcs_of_line(terrain, kept(terrain, world.lap, shift=60), Silent())
    line = lap_line(terrain, world.lap)
    ran = polyline.length_m(
        np.column_stack((line[:61, 0] * np.cos(np.radians(line[0, 1])), line[:61, 1])) * 111_320
    )
    assert arcs[0] == world.lap[0]
    assert start_m == pytest.approx(ran, abs=8)


def test_a_line_close_beside_does_not_tempt_a_kept_loop_away() -> None:
    world = spur_beside()
    terrain = assess(world.network)
    loop = kept(terrain, world.lap)
    spur = world.network.stretches[2].xy
    south = world.network.stretches[0].xy
    drawn = np.vstack((south[south[:, 0] < spur[0, 0]], spur, world.network.stretches[1].xy))
    lat, lon = to_degrees(world.network.origin, drawn)
    moved = replace(loop, line=np.column_stack((lon, lat, np.full(len(lat), np.nan))))
    arcs, start_m = arcs_of_line(terrain, moved, Silent())
    assert arcs == world.lap
    assert start_m == pytest.approx(0, abs=6)


def test_a_loop_that_left_the_ground_is_told() -> None:
    world = ladder()
    terrain = assess(world.network)
    lost = kept(terrain, world.lap)
    lost = replace(lost, line=lost.line + np.array([0.01, 0.0, 0.0]))
    with pytest.raises(NoAnswerError, match="no longer fits"):
        arcs_of_line(terrain, lost, Silent())


def degrees(network: Network, xy: np.ndarray) -> tuple[float, float]:
    lat, lon = to_degrees(network.origin, xy.reshape(1, 2))
    return float(lat[0]), float(lon[0])


def test_a_start_near_a_junction_is_the_junction() -> None:
    network = ladder().network
    junction = network.junctions[2]
    same, gate = with_start(network, degrees(network, junction.xy + np.array([3.0, -4.0])))
    assert (same, gate) == (network, junction.id)


def test_a_start_on_a_stretch_splits_it() -> None:
    network = ladder().network
    longest = max(network.stretches, key=lambda s: polyline.length_m(s.xy))
    middle = polyline.at(longest.xy, np.array([polyline.length_m(longest.xy) / 2]))[0]
    split, gate = with_start(network, degrees(network, middle))
    assert gate == "start"
    halves = [s for s in split.stretches if gate in {s.start, s.end}]
    assert len(split.stretches) == len(network.stretches) + 1
    whole = sum(polyline.length_m(s.xy) for s in halves)
    assert whole == pytest.approx(polyline.length_m(longest.xy), abs=0.1)
    assert (halves[0].start, halves[1].end) == (longest.start, longest.end)
    assert all((np.hypot(*np.diff(s.xy, axis=0).T) > 0).all() for s in halves)


def test_a_start_far_from_any_trail_is_refused() -> None:
    network = ladder().network
    with pytest.raises(NoAnswerError, match="no trail within 300 m"):
        with_start(network, degrees(network, np.array([5000.0, 5000.0])))


def test_must_and_avoid_find_their_stretches() -> None:
    terrain = assess(ladder().network)
    first, second = terrain.network.stretches[:2]

    def place(xy: np.ndarray) -> Place:
        lat, lon = to_degrees(terrain.network.origin, xy)
        return Place(line=np.column_stack((lon, lat)))

    wishes = replace(WISHES, must=(place(first.xy),), avoid=(place(second.xy[::-1]),))
    question = resolve(terrain, wishes, None)
    assert question.must == {first.id}
    assert question.avoid == {second.id}
    gone = replace(WISHES, must=(place(first.xy + 5000.0),))
    with pytest.raises(NoAnswerError, match="must be ridden"):
        resolve(terrain, gone, None)


def ride(track: RecordedTrack) -> Ride:
    return Ride(id=ride_id(track), track=track)


def test_rides_from_elsewhere_are_left_out_and_told() -> None:
    here = [ride(t) for t in rides_over(ladder(), rides=3)]
    far = ride(replace(here[0].track, lat=here[0].track.lat + 5.0))
    document, outside = gather(Document(name="a"), [far, *here])
    assert outside == (far,)
    assert {r.id for r in document.rides} == {r.id for r in here}
    again, outside = gather(document, [far])
    assert again is document
    assert outside == (far,)


def test_a_race_lap_from_elsewhere_does_not_place_the_area() -> None:
    here = [ride(t) for t in rides_over(ladder(), rides=2)]
    track = here[0].track
    race = replace(ride(replace(track, lat=track.lat + 30.0)), role=RideRole.RACE)
    document, far = take_in(Document(name="a"), [race])
    assert (document.origin, far) == (None, ())
    document, far = take_in(document, here)
    assert far == ()
    assert document.origin is not None
    assert document.origin.lat == pytest.approx(float(track.lat.mean()), abs=0.1)
    assert len(document.rides) == 3


def test_an_area_on_both_sides_of_the_antimeridian_is_one_place() -> None:
    track = rides_over(ladder(), rides=1)[0]
    lon = (track.lon - track.lon.mean() + 180.0 + 180.0) % 360.0 - 180.0
    assert lon.min() < -179 < 179 < lon.max()
    document, outside = gather(Document(name="a"), [ride(replace(track, lon=lon))])
    assert outside == ()
    assert document.origin is not None
    assert abs(document.origin.lon) > 179.9


def test_way_and_its_other() -> None:
    assert Way.FORWARD.other is Way.BACKWARD
    assert Way.BACKWARD.other is Way.FORWARD
