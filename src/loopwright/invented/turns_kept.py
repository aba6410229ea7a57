"""Whether the turns of one network exist in another.

Gets a network and another one, prepared; gives the share of turns of the one that can be ridden on
the other. A turn is a way from one stretch into another at a junction, with what lies before and
after. It tells holes that measures of places and of junctions hardly see.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from itertools import combinations

import numpy as np

from loopwright.geo.polyline import length_m
from loopwright.invented.lines import part
from loopwright.invented.rideable import Rideable
from loopwright.model.arrays import Floats
from loopwright.model.ids import JunctionId
from loopwright.model.network import Network

BEFORE_M = 80.0
"""So much of a stretch is ridden before and after the junction."""


def turns_share(network: Network, other: Rideable) -> float:
    """Share of the turns of ``network`` that ``other`` has; NaN when there are no turns."""
    lines = list(turns(network))
    if not lines:
        return float("nan")
    return float(np.mean([other.has(line) for line in lines]))


def turns(network: Network) -> Iterator[Floats]:
    """Lines ``(n, 2)`` of all turns, one for both ways."""
    legs: dict[JunctionId, list[Floats]] = defaultdict(list)
    for stretch in network.stretches:
        xy = np.asarray(stretch.xy)
        legs[stretch.start].append(_first(xy))
        legs[stretch.end].append(_first(xy[::-1]))
    for found in legs.values():
        for one, two in combinations(found, 2):
            yield np.vstack((one[::-1], two[1:]))


def _first(xy: Floats) -> Floats:
    """Give what lies nearest to the start."""
    return part(xy, 0.0, min(BEFORE_M, length_m(xy)))
