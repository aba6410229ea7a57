"""What a document puts on its card: nothing private, everything said."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np

from card_help import card_picture
from loopwright.cards import card_input
from loopwright.gather import gather
from loopwright.io.tracks import ride_id
from loopwright.model.document import Document, PrivateCircle
from loopwright.model.picture import Line, Picture, Text
from loopwright.model.track import Ride
from loopwright.model.wishes import Mix, Wishes
from loopwright.pipeline import Pipeline
from worlds import ladder, rides_over

WISHES = Wishes(mix=Mix(name="m", targets={"corners": 5}), min_length_m=200.0)


def test_the_private_circle_leaves_no_line_and_no_start_on_the_card() -> None:
    rides = [Ride(id=ride_id(t), track=t) for t in rides_over(ladder(), rides=4)]
    document, pipeline = gather(Document(name="a"), rides)[0], Pipeline()
    _, (loop, *_) = pipeline.search(document, WISHES)
    sheet = card_input(pipeline, document, loop, on=date(2027, 5, 16))
    whole = card_picture(sheet)
    lon, lat, _ = loop.line[0]
    circle = PrivateCircle(lat=float(lat), lon=float(lon), radius_m=60.0)
    settings = replace(document.settings, private=circle)
    kept = card_input(pipeline, replace(document, settings=settings), loop).private
    hidden = card_picture(replace(sheet, private=kept))
    assert "START" in words(whole)
    assert "START" not in words(hidden)
    assert "way to the start" not in words(hidden)
    assert inked(hidden) < inked(whole)


def words(picture: Picture) -> set[str]:
    return {m.words for m in picture.marks if isinstance(m, Text)}


def inked(picture: Picture) -> float:
    lines = [m for m in picture.marks if isinstance(m, Line)]
    return sum(float(np.hypot(*np.diff(m.points, axis=0).T).sum() * m.width_mm) for m in lines)
