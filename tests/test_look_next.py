"""What to look at next on the sample area, under real searches."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from loopwright.geo.frame import origin_for
from loopwright.io.tracks import read_tracks, ride_id
from loopwright.look_next import hoped_for, outlook, suggestions
from loopwright.model.document import Document
from loopwright.model.ground import Terrain
from loopwright.model.track import Ride
from loopwright.model.wishes import Mix, Wishes
from loopwright.pipeline import Pipeline
from loopwright.resources import folder

ROUGH = Mix(name="rough", targets={"rough_descent_m": 900.0, "corners": 20.0})
PLAIN = Mix(name="plain", targets={"corners": 5.0})


@pytest.fixture(scope="module")
def area() -> tuple[Pipeline, Document]:
    files = sorted(folder("sample_tracks").glob("ride_*.gpx"))[:8]
    tracks = [track for file in files for track in read_tracks(file)]
    rides = tuple(Ride(id=ride_id(track), track=track) for track in tracks)
    origin = origin_for(
        np.concatenate([t.lat for t in tracks]), np.concatenate([t.lon for t in tracks])
    )
    return Pipeline(), Document(name="sample", origin=origin, rides=rides)


def test_untagged_ground_that_could_raise_the_score_is_ranked(
    area: tuple[Pipeline, Document],
) -> None:
    pipeline, document = area
    found = outlook(pipeline, document, Wishes(mix=ROUGH))
    gains = [item.gain for item in found.stretches]
    assert found.at_most > found.now + 10
    assert gains == sorted(gains, reverse=True)
    assert gains[0] > 0.01
    assert max(gains) <= found.at_most - found.now + 0.02
    assert all(item.stretch in pipeline.terrain(document).spans for item in found.stretches)


def test_a_mix_that_asks_no_ground_needs_no_look(area: tuple[Pipeline, Document]) -> None:
    found = outlook(*area, Wishes(mix=PLAIN))
    assert found.stretches == ()
    assert found.at_most == found.now


def test_what_is_hoped_for_follows_from_the_mix(area: tuple[Pipeline, Document]) -> None:
    terrain: Terrain = area[0].terrain(area[1])
    key = terrain.network.stretches[0].id
    mix = Mix(
        name="grass", targets={"ground_m:grass": 500, "ground_m:sand": 100, "narrow_m": 10},
        weights={"ground_m:grass": 2},
    )  # fmt: skip
    (span,) = hoped_for(mix)(terrain, [key]).spans[key]
    assert (span.surface, span.roughness, span.width) == ("grass", "bad", "narrow")
    smooth = hoped_for(replace(mix, targets={"smooth_m": 100}, weights={}))(terrain, [key])
    assert smooth.spans[key][0].roughness == "good"


def test_suggestions_are_only_for_stretches_of_the_area(area: tuple[Pipeline, Document]) -> None:
    pipeline, document = area
    found = suggestions(pipeline, document)
    assert set(found) <= set(pipeline.terrain(document).spans)
    assert all(item.speed_share < 0.75 and item.passes >= 2 for item in found.values())
