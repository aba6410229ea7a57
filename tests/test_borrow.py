"""Words and trails from a map extract: borrowed, marked, attributed."""

from __future__ import annotations

import numpy as np
import pytest

from loopwright.borrow import box_of, given_back, trails_of, with_trails, with_words
from loopwright.edits import add_correction
from loopwright.gather import gather
from loopwright.geo.frame import to_degrees
from loopwright.invented.park import OPEN_OCEAN
from loopwright.io.osm import ATTRIBUTION, MapExtract, MapLine
from loopwright.io.tracks import ride_id
from loopwright.model.arrays import Floats
from loopwright.model.document import Document
from loopwright.model.ids import Way, Ways
from loopwright.model.network import Correction, CorrectionKind
from loopwright.model.track import Ride
from loopwright.model.wishes import Mix, Wishes
from loopwright.pipeline import Pipeline
from loopwright.relief import lifted
from worlds import ladder, rides_over

LINE = np.array([[-122.0, -47.0], [-122.001, -47.001]])


def extract(
    surface: str | None = "gravel", *, line: Floats = LINE, one_way: bool = False
) -> MapExtract:
    way = MapLine(
        line=line, surface=surface, roughness=None, width=None, name="Back lane", one_way=one_way
    )
    return MapExtract(lines=(way,))


def test_words_are_marked_as_borrowed_and_attributed() -> None:
    document = with_words(Document(name="a"), extract())
    (tag,) = document.tags
    assert (tag.source, tag.surface, tag.on) == ("osm", "gravel", None)
    assert document.settings.attributions == ("© OpenStreetMap contributors (ODbL)",)


def test_silent_lines_change_nothing() -> None:
    document = Document(name="a")
    assert with_words(document, extract(None)) is document


def test_trails_are_drawn_once() -> None:
    document = with_trails(Document(name="a"), extract())
    (drawn,) = document.corrections
    assert (drawn.kind, drawn.value) == (CorrectionKind.DRAWN, "Back lane")
    assert np.isnan(drawn.line[:, 2]).all()
    assert with_trails(document, extract()) is document


def test_a_trail_of_one_direction_is_drawn_with_it_and_given_back_with_it() -> None:
    document = with_trails(Document(name="a"), extract(one_way=True))
    kinds = [one.kind for one in document.corrections]
    assert kinds == [CorrectionKind.DRAWN, CorrectionKind.ONE_WAY]
    assert trails_of(document.corrections) == 1
    assert with_trails(document, extract(one_way=True)) is document
    assert given_back(document, ATTRIBUTION).corrections == ()


def ladder_area() -> Document:
    rides = [Ride(id=ride_id(t), track=t) for t in rides_over(ladder(), rides=4, seed=2)]
    return gather(Document(name="Invented ladder"), rides)[0]


def degrees(xy: list[tuple[float, float]]) -> Floats:
    lat, lon = to_degrees(OPEN_OCEAN, np.array(xy))
    return np.column_stack((lon, lat))


def diagonal() -> Floats:
    """A shortcut over two fields of the ladder, from south-west to north-east."""
    return degrees([(2.0, 2.0), (150.0, 60.0), (198.0, 98.0)])


@pytest.mark.parametrize("back", [False, True])
def test_no_loop_rides_a_borrowed_one_way_trail_against_its_direction(*, back: bool) -> None:
    line = diagonal()[::-1] if back else diagonal()
    document = with_trails(ladder_area(), extract(line=line, one_way=True))
    rooms = Pipeline()
    new = [s for s in rooms.network(document).stretches if s.unridden]
    assert new
    assert all(s.ways in {Ways.FORWARD, Ways.BACKWARD} for s in new)
    allowed = {(s.id, Way.FORWARD if s.ways is Ways.FORWARD else Way.BACKWARD) for s in new}
    for key, way in allowed:
        stretch = next(s for s in new if s.id == key)
        ahead = stretch.xy[-1] - stretch.xy[0]
        assert (ahead[0] > 0) == ((way is Way.FORWARD) != back)
    mix = Mix(name="any", targets={"corners": 6.0})
    wishes = Wishes(mix=mix, min_length_m=200.0, max_length_m=1500.0, use_unridden=True, count=8)
    result, _ = rooms.search(document, wishes)
    ridden = {arc for loop in result.loops for arc in loop.arcs if arc[0] in {s.id for s in new}}
    assert ridden
    assert ridden <= allowed


def test_a_maps_direction_does_not_stand_against_a_ride_the_other_way() -> None:
    document = ladder_area()
    network = Pipeline().network(document)
    both = next(s for s in network.stretches if len({p.way for p in s.passes}) == 2)
    for xy in (both.xy, both.xy[::-1]):
        lat, lon = to_degrees(network.origin, xy)
        line = np.column_stack((lon, lat))
        told = with_trails(document, extract(line=line, one_way=True))
        assert {s.ways for s in Pipeline().network(told).stretches} == {Ways.BOTH}
        own = Correction(kind=CorrectionKind.ONE_WAY, line=lifted(line, ""))
        said = Pipeline().network(add_correction(document, own))
        assert {s.ways for s in said.stretches} != {Ways.BOTH}


def test_the_box_holds_all_rides_with_a_margin() -> None:
    assert box_of(Document(name="a")) is None
    rides = [Ride(id=ride_id(t), track=t) for t in rides_over(ladder(), rides=2)]
    document, _ = gather(Document(name="a"), rides)
    south, west, north, east = box_of(document) or (0, 0, 0, 0)
    assert south == pytest.approx(min(r.track.lat.min() for r in rides) - 0.002)
    assert east == pytest.approx(max(r.track.lon.max() for r in rides) + 0.002)
    assert (south < north, west < east) == (True, True)
