"""What a person wants of a loop."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from loopwright.model.arrays import Floats, floats
from loopwright.model.ids import StretchId


@dataclass(frozen=True, slots=True, kw_only=True)
class Mix:
    """A target mix: for each wanted kind an amount > 0 and a weight > 0 (1 if not given)."""

    name: str
    targets: Mapping[str, float]
    weights: Mapping[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Check the numbers; raises ValueError naming the kind."""
        if not self.targets:
            message = "a mix needs at least one target"
            raise ValueError(message)
        for word, table in (("target", self.targets), ("weight", self.weights)):
            for kind, value in table.items():
                if not 0 < value < float("inf"):
                    message = f"{word} of {kind} must be a number above 0, got {value}"
                    raise ValueError(message)
        object.__setattr__(self, "targets", dict(self.targets))
        object.__setattr__(self, "weights", dict(self.weights))

    def weight(self, kind: str) -> float:
        """Weight of ``kind``, 1 if not given."""
        return self.weights.get(kind, 1.0)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Place:
    """A line on the ground that stands for a stretch: ``(n, 2)`` lon, lat in degrees.

    Two places are equal when their lines are, so that wishes asked twice are the same wishes.
    """

    line: Floats

    def __post_init__(self) -> None:
        """Check the shape and lock the array."""
        object.__setattr__(self, "line", floats(self.line, columns=2))

    def __eq__(self, other: object) -> bool:
        """Compare lines number by number."""
        return isinstance(other, Place) and np.array_equal(self.line, other.line)

    def __hash__(self) -> int:
        """Hash the line, as equality asks."""
        return hash(tuple(self.line.ravel().tolist()))


@dataclass(frozen=True, slots=True, kw_only=True)
class Wishes:
    """What the finder is asked for, as kept in the document (places, not ids).

    Lengths in metres. ``start`` is (lat, lon) in degrees. ``repeats`` is how many stretches may be
    ridden twice. ``count`` is how many different loops to give. ``lap_s`` is a window in predicted
    seconds, which then stands in place of the lengths. ``head_on_m`` keeps passes in opposite
    directions at least so far apart, 0 for no such wish.
    """

    mix: Mix
    min_length_m: float = 3000.0
    max_length_m: float = 5000.0
    start: tuple[float, float] | None = None
    must: tuple[Place, ...] = ()
    avoid: tuple[Place, ...] = ()
    repeats: int = 0
    count: int = 5
    seconds: float = 10.0
    use_unridden: bool = False
    lap_s: tuple[float, float] | None = None
    head_on_m: float = 0.0

    def __post_init__(self) -> None:
        """Check the window; raises ValueError in plain words."""
        if not 0 < self.min_length_m <= self.max_length_m:
            message = (
                f"the lap window must run from a shorter to a longer length above 0, "
                f"got {self.min_length_m:g} to {self.max_length_m:g} m"
            )
            raise ValueError(message)
        if self.lap_s is not None and not 0 < self.lap_s[0] <= self.lap_s[1]:
            message = "the lap window must run from a shorter to a longer time above 0"
            raise ValueError(message)


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """Wishes resolved on one built network: what the search room gets beside the terrain."""

    wishes: Wishes
    start_at: str | None = None
    """Junction id to start from, or None."""
    must: frozenset[StretchId] = frozenset()
    avoid: frozenset[StretchId] = frozenset()
