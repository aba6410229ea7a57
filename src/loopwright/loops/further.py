"""Conditions beyond the wishes kept in the document: predicted times, and passes kept apart.

Values that ``find_loops`` takes beside the question. Promises: none of them changes what a loop is
worth, but that a window in seconds prices seconds in place of metres.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TypeAlias

from loopwright.model.ids import Arc

Pairs: TypeAlias = frozenset[tuple[Arc, Arc]]
"""Pairs of arcs that no lap may both contain."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LapTimes:
    """A window in predicted seconds in place of metres.

    ``seconds`` has the predicted time of every arc, above 0. Where it lacks one, no loop may use
    that arc. The price of compactness is then 10 points at ``high_s``.
    """

    seconds: Mapping[Arc, float]
    low_s: float
    high_s: float

    def __post_init__(self) -> None:
        """Check the window; raises ValueError in plain words."""
        if not 0 < self.low_s <= self.high_s:
            message = (
                f"the lap window must run from a shorter to a longer time above 0, "
                f"got {self.low_s:g} to {self.high_s:g} s"
            )
            raise ValueError(message)


@dataclass(frozen=True, slots=True, kw_only=True)
class Further:
    """What ``find_loops`` may be asked beside the question."""

    times: LapTimes | None = None
    apart: Pairs = field(default=frozenset())


FREE = Further()
"""Nothing beside the question."""
