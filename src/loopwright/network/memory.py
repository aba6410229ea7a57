"""What one build leaves for the next."""

from __future__ import annotations

from dataclasses import dataclass

from loopwright.model.ids import RideId
from loopwright.model.network import Aside
from loopwright.network.core import Counts
from loopwright.network.fitted import Fitted
from loopwright.network.passes import Over


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Memory:
    """The rides built from, the fitted lines, every pass, and how often each cell was seen.

    ``asides`` are the parts of rides that no line shows. Never changed after it is made, so several
    networks may be recalled from it.
    """

    rides: tuple[RideId, ...]
    fitted: Fitted
    overs: tuple[Over, ...]
    asides: tuple[Aside, ...]
    counts: Counts
