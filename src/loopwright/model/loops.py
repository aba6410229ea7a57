"""Loops: as found on one network, and as kept in the document."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loopwright.model.arrays import Floats, floats
from loopwright.model.ground import Amounts
from loopwright.model.ids import Arc
from loopwright.model.wishes import Wishes


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundLoop:
    """One loop on the network it was searched on. ``match`` is 0..1, ``score`` up to 100."""

    rank: int
    arcs: tuple[Arc, ...]
    score: float
    match: float
    length_m: float
    ascent_m: float
    amounts: Amounts


@dataclass(frozen=True, slots=True, kw_only=True)
class SearchResult:
    """What the search knows. ``bound`` is never below the score of any loop under these wishes.

    ``most`` is, for each wanted kind, an upper bound on what any loop in the window can offer.
    """

    loops: tuple[FoundLoop, ...]
    bound: float
    proven: bool
    seconds: float
    most: Amounts


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SavedLoop:
    """A loop kept in the document by its line: ``(n, 3)`` lon, lat (degrees), ele (m or NaN).

    The last row repeats the first. ``rank`` is its place in the last search, None once it has a
    name of its own. It is matched to the network again after every build.
    """

    name: str
    line: Floats
    wishes: Wishes
    score: float
    match: float
    rank: int | None = None

    def __post_init__(self) -> None:
        """Check the shape and lock the array."""
        object.__setattr__(self, "line", floats(self.line, columns=3))

    def equals(self, other: SavedLoop) -> bool:
        """Tell whether another loop says the same: every word and number, and the same line."""
        return (
            (self.name, self.rank, self.score, self.match)
            == (other.name, other.rank, other.score, other.match)
            and self.wishes == other.wishes
            and np.array_equal(self.line, other.line, equal_nan=True)
        )
