"""A park being drawn: nodes, lines between them, and the rule of elbow room.

Gets lines one by one; keeps only those with room. Promises: lines that do not share a node stay
apart, except where closeness is asked for (hairpin legs, lines side by side, bridges).
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from enum import StrEnum

import numpy as np
from scipy.spatial import cKDTree

from loopwright.invented.lines import part
from loopwright.model.arrays import Floats

CLEAR_M = 24.0
CLEAR_SLOPE = 0.45
"""Near a shared node lines may be this share of the distance to it apart."""


class Kind(StrEnum):
    """What a drawn line is."""

    SINGLE = "single"
    ROAD = "road"
    HAIRPIN = "hairpin"
    BRIDGE = "bridge"
    A_LINE = "a line"
    B_LINE = "b line"
    RING = "ring"
    SPUR = "spur"
    STREET = "street"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DraftLine:
    """A line from node ``a`` to node ``b``.

    ``over`` lists (x, y, lift) in metres: bridges that raise the line near a place.
    """

    a: int
    b: int
    xy: Floats
    kind: Kind
    over: tuple[tuple[float, float, float], ...] = ()


@dataclass(slots=True)
class Draft:
    """The park so far; grows while it is drawn."""

    nodes: list[Floats] = field(default_factory=list)
    lines: list[DraftLine] = field(default_factory=list)

    def node(self, xy: Floats) -> int:
        """Add a node and give its number."""
        self.nodes.append(xy)
        return len(self.nodes) - 1

    def degree(self, node: int) -> int:
        """Count line ends at a node."""
        return sum((line.a == node) + (line.b == node) for line in self.lines)

    def has_room(self, new: DraftLine, *, crossing: DraftLine | None = None) -> bool:
        """Tell whether ``new`` keeps clear of every other line; ``crossing`` may be crossed."""
        return all(
            self._apart(new, other)
            for other in self.lines
            if other is not crossing and other is not new
        )

    def _apart(self, new: DraftLine, other: DraftLine) -> bool:
        low = np.maximum(new.xy.min(axis=0), other.xy.min(axis=0))
        high = np.minimum(new.xy.max(axis=0), other.xy.max(axis=0))
        if (low > high + CLEAR_M).any():
            return True
        dist = np.atleast_1d(cKDTree(other.xy).query(new.xy[::2])[0])
        need = np.full(len(dist), CLEAR_M)
        for node in {new.a, new.b} & {other.a, other.b}:
            away = np.hypot(*(new.xy[::2] - self.nodes[node]).T)
            need = np.minimum(need, np.maximum(0.0, away - 8.0) * CLEAR_SLOPE)
        return bool((dist >= need).all())

    def split(self, line: DraftLine, at_m: tuple[float, float]) -> tuple[int, int]:
        """Put two nodes on ``line`` and part it there; gives the nodes."""
        middle = part(line.xy, *at_m)
        first, second = self.node(middle[0]), self.node(middle[-1])
        total = float(np.hypot(*np.diff(line.xy, axis=0).T).sum())
        self.lines.remove(line)
        self.lines += [
            replace(line, b=first, xy=part(line.xy, 0.0, at_m[0])),
            replace(line, a=first, b=second, xy=middle, kind=Kind.A_LINE),
            replace(line, a=second, xy=part(line.xy, at_m[1], total)),
        ]
        return first, second
