"""Which streets of a map recorded trips took.

Gets streets and trips; gives the streets some trip took. That a trip came near a street does not
say that it took it: the likeliest way of each through the map is looked for (``geo.follow``).
Knows nothing of how networks are built.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from loopwright.geo.follow import Follower
from loopwright.geo.polyline import length_m
from loopwright.model.arrays import Floats

WITHIN_M = 30.0
"""A trip lies no further off its street; with 50 m the bus streets taken are 42.0 km, not 41.3."""
LONGEST_M = 250.0
"""Longer gaps end what is followed."""
MOST = 0.5
"""A street counts when a trip took more than this share of it at once."""


@dataclass(frozen=True, slots=True)
class Street:
    """A surveyed line from place ``a`` to place ``b``; ``one_way`` if driven from ``a`` only.

    The map does not say which of its figures means that: of 223 lines marked 1 that eight trips and
    more passed, 158 were driven from ``a`` by three of four trips, of 97 marked 0 a third.
    """

    a: int
    b: int
    one_way: bool

    @property
    def pair(self) -> tuple[int, int]:
        """Its two places, the smaller number first."""
        return min(self.a, self.b), max(self.a, self.b)


def taken(
    streets: Sequence[Street], places: Mapping[int, Floats], trips: Sequence[Floats]
) -> set[tuple[int, int]]:
    """Give the pairs of places, smaller first, of all streets that ``trips`` took.

    ``places`` are ``(2,)`` and trips ``(n, 2)``, metres in one frame.
    """
    lines = [np.vstack((places[one.a], places[one.b])) for one in streets]
    follower = Follower(lines, within_m=WITHIN_M, one_way=[one.one_way for one in streets])
    rows: set[int] = set()
    for part in (part for trip in trips for part in _unbroken(trip)):
        found = follower.follow(part)
        rows |= {one.index for one in found if one.length_m > MOST * length_m(lines[one.index])}
    return {streets[k].pair for k in rows}


def _unbroken(trip: Floats) -> list[Floats]:
    """Cut a trip at its long gaps."""
    cuts = np.flatnonzero(np.hypot(*np.diff(trip, axis=0).T) > LONGEST_M) + 1
    return np.split(trip, cuts)
