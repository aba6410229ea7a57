"""A loop unrolled into one lap: what pacing, laps, card and the profile look at."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loopwright.model.arrays import Floats, Ints, floats, ints
from loopwright.model.frame import Origin
from loopwright.model.ground import FeatureKind
from loopwright.model.ids import Arc


@dataclass(frozen=True, slots=True, kw_only=True)
class CourseFeature:
    """A feature in riding order. ``number`` is what map, profile and card print, from 1.

    Metres are along the lap from the start gate. A feature over the gate is split or moved so
    that ``from_m <= at_m <= to_m`` always. ``turn_deg`` is positive to the left as ridden.
    ``parts`` are the features that go by this one's name, as they were found; none for one that
    is as it was found.
    """

    number: int
    kind: FeatureKind
    from_m: float
    at_m: float
    to_m: float
    turn_deg: float = 0.0
    radius_m: float = 0.0
    tight: bool = False
    banked: bool = False
    gain_m: float = 0.0
    grade_mean: float = 0.0
    grade_max: float = 0.0
    parts: tuple[CourseFeature, ...] = ()


def mark_m(feature: CourseFeature) -> float:
    """Lap metre of a feature's mark: a corner's tightest place, else where it begins."""
    return feature.at_m if feature.kind is FeatureKind.CORNER else feature.from_m


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Course:
    """One lap from the start gate back to it.

    ``dist_m`` ``(n,)`` rises from 0 to the lap length; ``xy`` ``(n, 2)`` local metres, the last
    row equal to the first; ``ele_m`` ``(n,)`` smoothed metres (NaN everywhere if unknown);
    ``grade`` ``(n,)`` ratio; ``curvature_per_m`` ``(n,)`` signed, positive to the left;
    ``std_error_m`` ``(n,)``; ``surface``, ``roughness``, ``width`` ``(n,)`` indices into
    ``SURFACES``, ``ROUGHNESSES``, ``WIDTHS``; ``rough``, ``banked``, ``obstacles``
    ``(n,)`` 0 or 1; ``arc_ends_m`` the lap metre at which each arc of ``arcs`` ends.
    """

    origin: Origin
    name: str
    arcs: tuple[Arc, ...]
    arc_ends_m: Floats
    dist_m: Floats
    xy: Floats
    ele_m: Floats
    grade: Floats
    curvature_per_m: Floats
    std_error_m: Floats
    surface: Ints
    roughness: Ints
    width: Ints
    rough: Ints
    banked: Ints
    obstacles: Ints
    features: tuple[CourseFeature, ...]
    ascent_m: float
    closed: bool = True

    def __post_init__(self) -> None:
        """Check shapes and lock the arrays."""
        rows = len(self.dist_m)
        for key in ("dist_m", "ele_m", "grade", "curvature_per_m", "std_error_m"):
            object.__setattr__(self, key, floats(getattr(self, key), rows=rows))
        for key in ("surface", "roughness", "width", "rough", "banked", "obstacles"):
            object.__setattr__(self, key, ints(getattr(self, key), rows=rows))
        object.__setattr__(self, "xy", floats(self.xy, columns=2, rows=rows))
        object.__setattr__(self, "arc_ends_m", floats(self.arc_ends_m, rows=len(self.arcs)))

    @property
    def length_m(self) -> float:
        """Lap length in metres."""
        return float(self.dist_m[-1])

    @property
    def found(self) -> tuple[CourseFeature, ...]:
        """Features as they were found: what is counted. ``features`` is what has a number."""
        return tuple(part for one in self.features for part in (one.parts or (one,)))

    @property
    def has_heights(self) -> bool:
        """Tell whether any height is known."""
        return bool(np.isfinite(self.ele_m).any())
