"""What a card is made from.

Gets values of the model and plain words; gives one frozen value that any layout can lay out.
Promises: nothing here needs a file, a clock or Qt.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from loopwright.model.arrays import Floats
from loopwright.model.course import Course, CourseFeature
from loopwright.model.rider import LapPlan
from loopwright.model.season import DayLabel
from loopwright.units import Units

Paper: TypeAlias = Literal["A4", "A5", "strip"]
PAPERS: tuple[Paper, ...] = ("A4", "A5", "strip")


JOINERS = "\u200c\u200d"
"""Signs without width that some scripts need inside words."""


def tidy(words: str) -> str:
    """Fold control signs, line breaks and letters no script has to single spaces."""
    kept = (c if c.isprintable() or c in JOINERS else " " for c in words)
    return " ".join("".join(kept).split())


@dataclass(frozen=True, slots=True, kw_only=True)
class Ask:
    """One row of what is wanted of a lap against what the loop gives; ``kind`` as in the mix."""

    kind: str
    wanted: float
    given: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Density:
    """Wanted features of one kind (``FeatureKind``) per kilometre of lap."""

    kind: str
    per_km: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionWords:
    """The session the card is for. ``kind`` names the session kind or mix, as the season does.

    ``effort_cr10`` is the perceived effort to ride at, low and high.
    """

    label: DayLabel
    kind: str
    laps: int
    rest_minutes: float
    purpose: str = ""
    effort_cr10: tuple[int, int] | None = None

    def __post_init__(self) -> None:
        """Tidy what people typed."""
        object.__setattr__(self, "purpose", tidy(self.purpose))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CardInput:
    """Everything a card says.

    ``background`` are the other stretches, each ``(n, 2)`` local metres. ``ground_m`` is metres of
    lap by surface. ``inside_share`` is the share of the lap inside a wanted feature, 0..1.
    ``ascent_scale`` says over what length heights were smoothed. ``ground_state`` says how old the
    tags are. ``start`` is (lat, lon) in degrees for the square code; ``hide_start`` leaves out
    the gate and the code. ``private`` is a circle (east, north, radius in local metres) inside
    which the map shows nothing of the loop and its features; a start inside it is hidden too.
    ``inside`` names, by the number of a feature, the sharper parts it holds: the steep ones of a
    climb, the rough ones of a descent.
    """

    course: Course
    name: str
    plan: LapPlan | None = None
    area: str = ""
    invented: bool = False
    match: float | None = None
    match_words: str = ""
    mix_name: str = ""
    asks: tuple[Ask, ...] = ()
    session: SessionWords | None = None
    background: tuple[Floats, ...] = ()
    ground_m: Mapping[str, float] = field(default_factory=dict)
    densities: tuple[Density, ...] = ()
    inside_share: float | None = None
    ascent_scale: str = ""
    ground_state: str = ""
    on: date | None = None
    attributions: tuple[str, ...] = ()
    units: Units = Units.METRIC
    start: tuple[float, float] | None = None
    hide_start: bool = False
    private: tuple[float, float, float] | None = None
    inside: Mapping[int, tuple[CourseFeature, ...]] = field(default_factory=dict)

    def parts_of(self, feature: CourseFeature) -> tuple[CourseFeature, ...]:
        """Give the sharper parts that a feature holds."""
        return self.inside.get(feature.number, ())

    def __post_init__(self) -> None:
        """Tidy what people typed, and hide a start that lies inside the private circle."""
        for key in ("name", "area", "match_words", "mix_name", "ascent_scale", "ground_state"):
            object.__setattr__(self, key, tidy(getattr(self, key)))
        object.__setattr__(self, "attributions", tuple(tidy(a) for a in self.attributions))
        if len(self.course.xy) and not shown(self, self.course.xy[:1])[0]:
            object.__setattr__(self, "hide_start", True)


def shown(sheet: CardInput, xy: Floats) -> NDArray[np.bool_]:
    """Tell for each local place ``(n, 2)`` whether it lies outside the private circle."""
    if sheet.private is None:
        return np.ones(len(xy), dtype=bool)
    east, north, radius = sheet.private
    away = np.hypot(xy[:, 0] - east, xy[:, 1] - north)
    return np.asarray(away > radius, dtype=bool)
