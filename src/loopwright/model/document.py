"""The document: an area, one frozen value. An edit is a function from one to the next."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from loopwright.model.frame import Origin
from loopwright.model.ground import Tag
from loopwright.model.loops import SavedLoop
from loopwright.model.network import Correction
from loopwright.model.rider import Rider
from loopwright.model.season import SeasonPlan
from loopwright.model.track import Ride
from loopwright.model.wishes import Mix, Wishes


@dataclass(frozen=True, slots=True, kw_only=True)
class PrivateCircle:
    """Points within ``radius_m`` of (lat, lon) are cut from rides' ends, exports and cards."""

    lat: float
    lon: float
    radius_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class AreaSettings:
    """Settings that belong to the area and can be undone."""

    invented: bool = False
    """True for made-up ground: every card and export says so."""
    private: PrivateCircle | None = None
    plan_for: date | None = None
    """The date whose ground state (dated tags) to plan for; None takes the newest words."""
    attributions: tuple[str, ...] = ()
    height_file: str = ""
    background_file: str = ""
    """A local picture under the map. Never an address: opening an area asks nobody anything."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Document:
    """Everything a person put in. Derived values are rebuilt, never stored as truth.

    ``found`` are the loops of the last search by rank; ``kept`` those with names of their own.
    """

    name: str
    origin: Origin | None = None
    rides: tuple[Ride, ...] = ()
    tags: tuple[Tag, ...] = ()
    corrections: tuple[Correction, ...] = ()
    rider: Rider = field(default_factory=Rider)
    mixes: tuple[Mix, ...] = ()
    wishes: Wishes | None = None
    found: tuple[SavedLoop, ...] = ()
    kept: tuple[SavedLoop, ...] = ()
    season: SeasonPlan | None = None
    settings: AreaSettings = field(default_factory=AreaSettings)
