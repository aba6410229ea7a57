"""The order of the rooms: what is remembered, and what must not be."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from loopwright import edits
from loopwright.errors import NoAnswerError
from loopwright.gather import gather
from loopwright.geo import polyline
from loopwright.geo.frame import to_degrees
from loopwright.io.tracks import ride_id
from loopwright.model.document import Document, PrivateCircle
from loopwright.model.ground import Tag
from loopwright.model.network import Network
from loopwright.model.rider import Rider
from loopwright.model.track import CleanTrack, Ride
from loopwright.model.wishes import Mix, Wishes
from loopwright.pipeline import Pipeline
from worlds import ladder, rides_over

WORLD = ladder()
RIDES = [Ride(id=ride_id(t), track=t) for t in rides_over(WORLD, rides=4)]


def document(rides: list[Ride] = RIDES) -> Document:
    return gather(Document(name="a"), rides)[0]


def km(network: Network) -> float:
    return sum(polyline.length_m(s.xy) for s in network.stretches) / 1000


def ridden_km(tracks: Sequence[CleanTrack]) -> float:
    return sum(polyline.length_m(p.xy) for track in tracks for p in track.pieces) / 1000


def test_stages_are_remembered_by_their_inputs() -> None:
    pipeline, first = Pipeline(), document()
    terrain = pipeline.terrain(first)
    assert pipeline.terrain(edits.set_rider(first, Rider(mass_kg=60))) is terrain
    hidden = edits.hide_ride(first, RIDES[0].id, hidden=True)
    assert pipeline.terrain(hidden) is not terrain
    assert pipeline.terrain(first) is terrain


def test_a_change_of_ground_matches_no_loop_again(monkeypatch: pytest.MonkeyPatch) -> None:
    pipeline, first = Pipeline(), document()
    stretch = pipeline.network(first).stretches[0]
    wishes = Wishes(mix=Mix(name="m", targets={"corners": 5}), min_length_m=200, count=1)
    _, (loop,) = pipeline.search(first, wishes)
    kept = replace(loop, line=loop.line.copy())
    arcs = pipeline.arcs(first, kept)
    lat, lon = to_degrees(pipeline.network(first).origin, stretch.xy)
    painted = edits.add_tags(first, [Tag(line=np.column_stack((lon, lat)), surface="rock")])
    monkeypatch.setattr("loopwright.pipeline.arcs_of_line", None)
    assert pipeline.terrain(painted) is not pipeline.terrain(first)
    assert pipeline.terrain(painted).network is pipeline.terrain(first).network
    assert pipeline.arcs(painted, kept) == arcs
    assert pipeline.reports(painted) is pipeline.reports(first)
    assert "rock" in {s.surface for s in pipeline.terrain(painted).spans[stretch.id]}


def test_one_start_splits_its_stretch_once() -> None:
    pipeline, first = Pipeline(), document()
    stretch = max(pipeline.network(first).stretches, key=lambda s: polyline.length_m(s.xy))
    lat, lon = to_degrees(pipeline.network(first).origin, stretch.xy[len(stretch.xy) // 2][None])
    mixes = (Mix(name="m", targets={"corners": n}) for n in (5.0, 6.0))
    one, other = (Wishes(mix=mix, start=(lat[0], lon[0])) for mix in mixes)
    split, question = pipeline.asked(first, one)
    assert len(split.network.stretches) == len(pipeline.network(first).stretches) + 1
    moved = replace(other, start=one.start)
    assert pipeline.asked(first, moved)[0] is split
    assert pipeline.asked(first, moved)[1].start_at == question.start_at


def test_an_area_without_rides_says_so() -> None:
    with pytest.raises(NoAnswerError, match="holds no rides yet"):
        Pipeline().network(Document(name="empty"))


def test_another_private_circle_trims_again() -> None:
    pipeline, first = Pipeline(), document()
    whole, ridden = km(pipeline.network(first)), ridden_km(pipeline.clean(first))
    lat, lon = float(RIDES[0].track.lat[0]), float(RIDES[0].track.lon[0])
    circle = PrivateCircle(lat=lat, lon=lon, radius_m=120.0)
    private = edits.set_settings(first, replace(first.settings, private=circle))
    # Other rides still pass there, so the network need not be shorter; what it is made of is.
    assert ridden_km(pipeline.clean(private)) < ridden - 0.1
    assert pipeline.network(private) is not pipeline.network(first)
    assert km(pipeline.network(first)) == pytest.approx(whole)


def test_a_ride_added_gives_what_a_whole_build_gives() -> None:
    pipeline, some = Pipeline(), document(RIDES[:3])
    pipeline.network(some)
    step = pipeline.network(gather(some, RIDES)[0])
    at_once = Pipeline().network(replace(document(), origin=some.origin))
    assert km(step) == pytest.approx(km(at_once), rel=0.01)
    assert len(step.stretches) == len(at_once.stretches)


def test_a_window_in_minutes_is_kept() -> None:
    pipeline, first = Pipeline(), document()
    corners = Mix(name="m", targets={"corners": 5})
    # Time enough to compile the search first on a busy machine.
    wishes = Wishes(mix=corners, lap_s=(30.0, 900.0), count=2, seconds=600.0)
    result, loops = pipeline.search(first, wishes)
    assert result.proven
    for loop in loops:
        plan = pipeline.plan(first, pipeline.course(first, loop))
        # Arcs are timed one by one, the lap as a whole: corners at the joints differ a little.
        assert 0.8 * 30 <= plan.lap_time_s <= 1.2 * 900


def test_start_of_a_kept_loop_is_on_the_trail() -> None:
    pipeline, first = Pipeline(), document()
    _, loops = pipeline.search(
        first, Wishes(mix=Mix(name="m", targets={"corners": 5}), min_length_m=200)
    )
    course = pipeline.course(first, loops[0])
    lat, _ = to_degrees(course.origin, course.xy[:1])
    assert lat[0] == pytest.approx(loops[0].line[0, 1], abs=1e-4)


def test_a_loop_found_lies_where_it_was_found() -> None:
    pipeline, first = Pipeline(), document()
    wishes = Wishes(mix=Mix(name="m", targets={"corners": 5}), min_length_m=200, count=2)
    result, loops = pipeline.search(first, wishes)
    assert len(loops) == 2
    for found, loop in zip(result.loops, loops, strict=True):
        assert pipeline.arcs(first, loop) == (found.arcs, 0.0)
        anew = replace(loop, line=loop.line.copy())  # nobody knows where this one was found
        assert pipeline.arcs(first, anew) == (found.arcs, 0.0)
