"""Ground tags, features, and the terrain the search works on.

Tag words are OpenStreetMap values (``surface``, ``smoothness``).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from typing import TypeAlias

from loopwright.model.arrays import Floats, floats
from loopwright.model.ids import Arc, StretchId, Way
from loopwright.model.network import Network

SURFACES = (
    "unknown", "asphalt", "concrete", "compacted", "fine_gravel", "gravel", "pebblestone",
    "ground", "dirt", "grass", "sand", "mud", "rock", "wood",
)  # fmt: skip
ROUGHNESSES = (
    "unknown", "excellent", "good", "intermediate", "bad", "very_bad", "horrible",
    "very_horrible", "impassable",
)  # fmt: skip
WIDTHS = ("unknown", "narrow", "wide")
ROUGH_FROM = ROUGHNESSES.index("bad")

Amounts: TypeAlias = Mapping[str, float]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Tag:
    """What a person said of the ground along a line, anchored to the place.

    ``line`` ``(n, 2)`` lon, lat in degrees. None leaves what is known; ``on`` dates the words.
    """

    line: Floats
    surface: str | None = None
    roughness: str | None = None
    width: str | None = None
    banked: bool | None = None
    roots: bool | None = None
    obstacles: bool | None = None
    """Logs, ledges, steps: what has to be ridden over or around."""
    on: date | None = None
    source: str = ""
    """Who says so: empty for the user, else for example ``osm``."""

    def __post_init__(self) -> None:
        """Check the shape and the words, lock the array."""
        object.__setattr__(self, "line", floats(self.line, columns=2))
        for value, words in (
            (self.surface, SURFACES), (self.roughness, ROUGHNESSES), (self.width, WIDTHS),
        ):  # fmt: skip
            if value is not None and value not in words:
                message = f"{value!r} is not one of {', '.join(words)}"
                raise ValueError(message)


@dataclass(frozen=True, slots=True, kw_only=True)
class GroundSpan:
    """What the ground is from ``from_m`` to ``to_m`` along a stretch (forward metres)."""

    from_m: float
    to_m: float
    surface: str = "unknown"
    roughness: str = "unknown"
    width: str = "unknown"
    banked: bool = False
    roots: bool = False
    obstacles: bool = False

    @property
    def rough(self) -> bool:
        """Rough ground: smoothness bad or worse, rock, or roots."""
        return (
            ROUGHNESSES.index(self.roughness) >= ROUGH_FROM or self.surface == "rock" or self.roots
        )


class FeatureKind(StrEnum):
    """What a stretch of trail asks of a rider."""

    CLIMB = "climb"
    STEEP_CLIMB = "steep_climb"
    DESCENT = "descent"
    ROUGH_DESCENT = "rough_descent"
    CORNER = "corner"
    STRAIGHT = "straight"
    FUNNEL = "funnel"
    STEADY = "steady"


class FeatureWay(StrEnum):
    """For which direction of riding a feature counts."""

    FORWARD = "forward"
    BACKWARD = "backward"
    BOTH = "both"

    def counts(self, way: Way) -> bool:
        """Tell whether the feature is there when riding ``way``."""
        return self is FeatureWay.BOTH or self.value == way.value


@dataclass(frozen=True, slots=True, kw_only=True)
class Feature:
    """A feature on one stretch; metres are along the stretch's forward line.

    For a corner ``at_m`` is its tightest place, ``turn_deg`` is positive to the left when riding
    forward. ``gain_m`` is metres risen (climbs) or fallen (descents), positive, when ridden the
    way it counts; ``grade_mean`` and ``grade_max`` are ratios, positive up, in that way.
    """

    kind: FeatureKind
    stretch: StretchId
    from_m: float
    to_m: float
    way: FeatureWay
    at_m: float = 0.0
    turn_deg: float = 0.0
    radius_m: float = 0.0
    tight: bool = False
    banked: bool = False
    gain_m: float = 0.0
    grade_mean: float = 0.0
    grade_max: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Passage:
    """Riding from one arc into the next. ``corner`` is set when the turn between makes one.

    The corner's ``stretch`` is ``after``'s; ``turn_deg`` positive to the left as ridden.
    """

    before: Arc
    after: Arc
    amounts: Amounts = field(default_factory=dict)
    allowed: bool = True
    corner: Feature | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Profile:
    """A stretch smoothed, at even stations about 2.5 m apart; all ``(n,)``, n >= 2.

    ``dist_m`` runs along the stretch as stored and ends at its length; ``xy`` ``(n, 2)`` is the
    smoothed centre line; ``ele_m`` smoothed metres; ``grade`` a ratio, positive up, forward;
    ``grade_error`` its standard error; ``curvature_per_m`` positive to the left, forward. Heights
    and grades are NaN where no ride carries heights.
    """

    dist_m: Floats
    xy: Floats
    ele_m: Floats
    grade: Floats
    grade_error: Floats
    curvature_per_m: Floats

    def __post_init__(self) -> None:
        """Check shapes and lock the arrays."""
        rows = len(self.dist_m)
        for key in ("dist_m", "ele_m", "grade", "grade_error", "curvature_per_m"):
            object.__setattr__(self, key, floats(getattr(self, key), rows=rows))
        object.__setattr__(self, "xy", floats(self.xy, columns=2, rows=rows))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Terrain:
    """A network with everything the search adds up.

    ``amounts`` has an entry for every arc, kinds as in ``AMOUNT_KINDS`` plus
    ``ground_m:<surface>``; values never negative, absent means 0. ``passages`` lists those that
    add something or are not allowed; any other is allowed and adds nothing. ``lengths_m`` and
    ``ascents_m`` are per stretch and per arc, smoothed as docs/features.md says.
    ``profiles`` are the smoothed stretches the features were read from. ``unfit`` lists tags that
    no longer find their place.
    """

    network: Network
    spans: Mapping[StretchId, tuple[GroundSpan, ...]]
    features: tuple[Feature, ...]
    passages: tuple[Passage, ...]
    lengths_m: Mapping[StretchId, float]
    ascents_m: Mapping[Arc, float]
    amounts: Mapping[Arc, Amounts]
    unfit: tuple[Tag, ...] = field(default=())
    profiles: Mapping[StretchId, Profile] = field(default_factory=dict)


AMOUNT_KINDS = (
    "climb_gain_m", "steep_gain_m", "corners", "tight_corners", "descent_m", "rough_descent_m",
    "straights", "steady_m",
)  # fmt: skip
GROUND_PREFIX = "ground_m:"
EXTRA_KINDS = ("funnels", "narrow_m", "rough_m", "smooth_m", "easy_m", "obstacles_m")
"""Kinds beyond the published list: narrow_m is metres tagged narrow, smooth_m metres tagged
excellent to intermediate, easy_m metres with |grade| <= 3 %, obstacles_m metres tagged so."""
