"""Words and trails from a map extract: borrowed, marked, attributed."""

from __future__ import annotations

import numpy as np
import pytest

from loopwright.borrow import box_of, with_trails, with_words
from loopwright.gather import gather
from loopwright.io.osm import MapExtract, MapLine
from loopwright.io.tracks import ride_id
from loopwright.model.document import Document
from loopwright.model.network import CorrectionKind
from loopwright.model.track import Ride
from worlds import ladder, rides_over

LINE = np.array([[-122.0, -47.0], [-122.001, -47.001]])


def extract(surface: str | None = "gravel") -> MapExtract:
    line = MapLine(
        line=LINE, surface=surface, roughness=None, width=None, name="Back lane", one_way=False
    )
    return MapExtract(lines=(line,))


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


def test_the_box_holds_all_rides_with_a_margin() -> None:
    assert box_of(Document(name="a")) is None
    rides = [Ride(id=ride_id(t), track=t) for t in rides_over(ladder(), rides=2)]
    document, _ = gather(Document(name="a"), rides)
    south, west, north, east = box_of(document) or (0, 0, 0, 0)
    assert south == pytest.approx(min(r.track.lat.min() for r in rides) - 0.002)
    assert east == pytest.approx(max(r.track.lon.max() for r in rides) + 0.002)
    assert (south < north, west < east) == (True, True)
