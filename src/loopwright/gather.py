"""Rides of one place into one area.

Gets a document and rides from anywhere, gives the next document and the rides left out. Promises:
an area never spreads so far that its metre frame is bent; nothing is left out silently.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from loopwright.edits import add_rides
from loopwright.geo.frame import origin_for
from loopwright.model.arrays import Floats
from loopwright.model.document import Document
from loopwright.model.track import Ride

REACH_KM = 150.0
"""A transverse Mercator of scale 1 stretches lengths by x^2 / (2 R^2): 0.03 % at 150 km."""
EARTH_KM = 6371.0


def gather(document: Document, rides: Sequence[Ride]) -> tuple[Document, tuple[Ride, ...]]:
    """Add the rides that belong to the area; give those that lie too far away to belong.

    A new area is where most of the recorded points are.
    """
    if not rides:
        return document, ()
    middles = np.array([_middle(ride) for ride in rides])
    if document.origin is not None:
        here = (document.origin.lat, document.origin.lon)
    else:
        here = _most(middles, np.array([len(ride.track) for ride in rides]))
    near = _gap_km(middles, here) <= REACH_KM
    inside = [ride for ride, ok in zip(rides, near, strict=True) if ok]
    outside = tuple(ride for ride, ok in zip(rides, near, strict=True) if not ok)
    if not inside:
        return document, outside
    lat = np.concatenate([ride.track.lat for ride in inside])
    lon = np.concatenate([ride.track.lon for ride in inside])
    return add_rides(document, inside, document.origin or origin_for(lat, lon)), outside


def apart(like: Document, rides: Sequence[Ride]) -> tuple[Document, ...]:
    """Make areas of their own of rides that lie elsewhere, one for each place they lie in.

    Each has the rider and the kept mixes of ``like``, the first place the most points.
    """
    areas: list[Document] = []
    while rides:
        name = f"{like.name} {len(areas) + 2}"
        empty = Document(name=name, rider=like.rider, mixes=like.mixes)
        area, rides = gather(empty, rides)
        areas.append(area)
    return tuple(areas)


def add_races(document: Document, laps: Sequence[Ride]) -> Document:
    """Add race laps, which may lie anywhere on earth, and so place no area."""
    return add_rides(document, laps, None)


def _middle(ride: Ride) -> tuple[float, float]:
    origin = origin_for(ride.track.lat, ride.track.lon)
    return origin.lat, origin.lon


def _most(middles: Floats, points: np.ndarray) -> tuple[float, float]:
    worth = [float(points[_gap_km(middles, (lat, lon)) <= REACH_KM].sum()) for lat, lon in middles]
    lat, lon = middles[int(np.argmax(worth))]
    return float(lat), float(lon)


def _gap_km(middles: Floats, here: tuple[float, float]) -> Floats:
    """Great-circle distance ``(n,)`` in km by the haversine formula on a sphere."""
    lat, lon = np.radians(middles.T)
    lat0, lon0 = np.radians(here)
    half = np.sin((lat - lat0) / 2) ** 2
    half = half + np.cos(lat) * np.cos(lat0) * np.sin((lon - lon0) / 2) ** 2
    gap: Floats = 2 * EARTH_KM * np.arcsin(np.sqrt(np.clip(half, 0, 1)))
    return gap
