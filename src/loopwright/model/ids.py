"""Names of things, kept apart by type so that one cannot be passed for another."""

from __future__ import annotations

from enum import StrEnum
from typing import NewType, TypeAlias

RideId = NewType("RideId", str)
"""First 16 hex digits of the SHA-256 of the recorded positions, times and heights."""
StretchId = NewType("StretchId", str)
"""Valid within one built network only; never stored in the document."""
JunctionId = NewType("JunctionId", str)
"""Valid within one built network only; never stored in the document."""


class Way(StrEnum):
    """Direction along a stretch, as its centre line is stored."""

    FORWARD = "forward"
    BACKWARD = "backward"

    @property
    def other(self) -> Way:
        """The opposite direction."""
        return Way.BACKWARD if self is Way.FORWARD else Way.FORWARD


class Ways(StrEnum):
    """Directions in which a stretch may be ridden."""

    BOTH = "both"
    FORWARD = "forward"
    BACKWARD = "backward"
    CLOSED = "closed"

    def allows(self, way: Way) -> bool:
        """Tell whether riding ``way`` is allowed."""
        return self is Ways.BOTH or self.value == way.value


Arc: TypeAlias = tuple[StretchId, Way]
"""A stretch ridden one way: what loops are made of."""
