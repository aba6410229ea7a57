"""The invented sample area: what a newcomer sees first.

Gets the shipped recordings, gives a document marked as invented. Promises: the same document on
every machine.
"""

from __future__ import annotations

from datetime import date

import numpy as np

from loopwright.edits import add_rides, add_tags, keep_loop
from loopwright.geo.frame import origin_for
from loopwright.io.geojson import read_lines
from loopwright.io.ground_file import read_tags
from loopwright.io.tracks import read_tracks, ride_id
from loopwright.loops.mixes import built_in_mixes
from loopwright.model.document import AreaSettings, Document
from loopwright.model.loops import SavedLoop
from loopwright.model.track import Ride, RideRole
from loopwright.model.wishes import Wishes
from loopwright.resources import folder

NAME = "Sample area (invented)"
RACE_FILE = "race_lap.gpx"
GROUND_FILE = "ground.geojson"
LAP_FILE = "training_lap.geojson"
GROUND_DAY = date(2030, 5, 12)
"""Day on which the invented ground was looked at."""


def sample_document() -> Document:
    """Read the shipped rides, race lap and ground words."""
    tracks = folder("sample_tracks")
    rides = [
        Ride(
            id=ride_id(track),
            track=track,
            role=RideRole.RACE if path.name == RACE_FILE else RideRole.RIDE,
        )
        for path in sorted(tracks.glob("*.gpx"))
        for track in read_tracks(path)
    ]
    building = [ride.track for ride in rides if ride.role is RideRole.RIDE]
    origin = origin_for(
        np.concatenate([t.lat for t in building]), np.concatenate([t.lon for t in building])
    )
    empty = Document(name=NAME, settings=AreaSettings(invented=True))
    tagged = add_tags(
        add_rides(empty, rides, origin), read_tags(tracks / GROUND_FILE, on=GROUND_DAY)
    )
    return keep_loop(tagged, _lap(), "Training lap")


def _lap() -> SavedLoop:
    (line,) = read_lines(folder("sample_tracks") / LAP_FILE)
    return SavedLoop(
        name="Training lap",
        line=np.column_stack((line, np.full(len(line), np.nan))),
        wishes=Wishes(mix=built_in_mixes()[0]),
        score=0.0,
        match=0.0,
    )
