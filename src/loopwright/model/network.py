"""The trail network: stretches of trail between junctions, in the local frame."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from loopwright.model.arrays import Floats, floats
from loopwright.model.frame import Origin
from loopwright.model.ids import JunctionId, RideId, StretchId, Way, Ways


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Junction:
    """A place where stretches meet, a dead end (degree 1), or a ring's seam (degree 2).

    ``xy`` ``(2,)`` metres east and north of the origin.
    """

    id: JunctionId
    xy: Floats
    ele_m: float
    degree: int

    def __post_init__(self) -> None:
        """Check the shape and lock the array."""
        object.__setattr__(self, "xy", floats(self.xy, rows=2))


@dataclass(frozen=True, slots=True, kw_only=True)
class Pass:
    """One ride over a stretch: when, which way, and which recorded points."""

    ride: RideId
    way: Way
    time_s: float
    """Seconds since 1970 at the start of the pass, NaN when the ride has no times."""
    first: int
    last: int
    """Recorded point numbers, inclusive."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stretch:
    """A piece of trail between two junctions.

    ``xy`` ``(n, 2)`` metres, n >= 2, from ``start`` to ``end``; ``ele_m`` ``(n,)`` metres, NaN
    everywhere when no ride carries heights; ``std_error_m`` ``(n,)`` metres, the one-sigma spread
    of the centre line across the trail. ``suggested`` is what the passes hint at; ``ways`` is what
    is allowed, ``both`` unless a person said otherwise. ``unridden`` marks drawn ground.
    """

    id: StretchId
    start: JunctionId
    end: JunctionId
    xy: Floats
    ele_m: Floats
    std_error_m: Floats
    passes: tuple[Pass, ...] = ()
    ways: Ways = Ways.BOTH
    suggested: Ways = Ways.BOTH
    name: str = ""
    unridden: bool = False

    def __post_init__(self) -> None:
        """Check shapes and lock the arrays."""
        object.__setattr__(self, "xy", floats(self.xy, columns=2))
        rows = len(self.xy)
        object.__setattr__(self, "ele_m", floats(self.ele_m, rows=rows))
        object.__setattr__(self, "std_error_m", floats(self.std_error_m, rows=rows))


class CorrectionKind(StrEnum):
    """What a person can change about the built network."""

    JOIN = "join"
    """Connect the two ends of the line."""
    CUT = "cut"
    """Part what the line crosses."""
    HIDE = "hide"
    ONE_WAY = "one-way"
    """Only in the direction of the line."""
    CLOSED = "closed"
    RENAME = "rename"
    DRAWN = "drawn"
    """Ground not ridden yet, drawn by hand or taken from a map extract."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Correction:
    """A person's change, anchored to a place.

    ``line`` is ``(n, 3)``: lon, lat (degrees), ele (m or NaN).
    """

    kind: CorrectionKind
    line: Floats
    value: str = ""
    source: str = ""
    """Who says so: empty for the user, ``osm`` for ground taken from a map extract."""

    def __post_init__(self) -> None:
        """Check the shape and lock the array."""
        object.__setattr__(self, "line", floats(self.line, columns=3))


@dataclass(frozen=True, slots=True, kw_only=True)
class Aside:
    """A part of a ride beside a line, and on none: it was not believed to be a trail of its own.

    It begins ``from_m`` metres into the ride as cleaned and is ``length_m`` long; ``first`` and
    ``last`` are recorded point numbers, inclusive.
    """

    ride: RideId
    from_m: float
    length_m: float
    first: int
    last: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Network:
    """A built network.

    ``unfit`` lists corrections that no longer find their place, ``asides`` parts of rides that
    were not drawn, by ride and place.
    """

    origin: Origin
    stretches: tuple[Stretch, ...]
    junctions: tuple[Junction, ...]
    unfit: tuple[Correction, ...] = field(default=())
    asides: tuple[Aside, ...] = field(default=())
