"""Drop chords: lines tied across from one hairpin leg to the next, where nobody turns.

Gets a web and aligned samples. Where legs lie close, a second line of a leg may be tied to the leg
beside it. Rides come along it, but go on in the middle of the line that shows their leg. Promises:
a line goes only if it runs beside others, and no ride turns where it ends.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from shapely import LineString, STRtree, points

from loopwright.geo.polyline import resample
from loopwright.model.arrays import Floats
from loopwright.network.attract import Aligned
from loopwright.network.runs import runs_of
from loopwright.network.samples import Samples
from loopwright.network.web import End, Web

LONGEST_M = 100.0
LEAST = 3
"""Rides that must have come along it."""
BESIDE_M, SHARE = 8.0, 0.8
"""So near, over such a share of it, it runs beside other lines."""


def drop_chords(web: Web, samples: Samples, aligned: Aligned, ele: Floats) -> int:
    """Drop chords in place; gives how many. ``ele`` ``(n,)`` are the samples' heights in metres."""
    numbers = sorted(web.lines)
    tree = STRtree([LineString(web.lines[number].xyz[:, :2]) for number in numbers])
    short = [number for number in numbers if _between_forks(web, number)]
    doubtful = [number for number in short if _beside(web, tree, numbers, number)]
    if not doubtful:
        return 0
    runs = list(runs_of(web, samples, aligned, ele))
    ridden = Counter(run.number for run in runs)
    turned: set[End] = set()
    for one, two in pairwise(runs):
        if one.goes_on(two) and web.node_of(one.left) == web.node_of(two.came):
            turned |= {one.left, two.came}
    gone = 0
    for number in doubtful:
        untaken = ridden[number] >= LEAST and not {(number, False), (number, True)} <= turned
        # What it ran beside may be gone.
        if untaken and _beside(web, tree, numbers, number):
            web.drop_line(number)
            gone += 1
    return gone


def _between_forks(web: Web, number: int) -> bool:
    line = web.lines[number]
    forks = min(web.degree(line.a), web.degree(line.b)) > 2
    return forks and line.a != line.b and not line.parted and line.length_m <= LONGEST_M


def _beside(web: Web, tree: STRtree, numbers: Sequence[int], number: int) -> bool:
    """Tell whether a line runs beside others that are there; ``tree`` has lines by ``numbers``."""
    spots = points(resample(web.lines[number].xyz[:, :2], 2.0))
    spot, other = tree.query(spots, predicate="dwithin", distance=BESIDE_M)
    there = [numbers[k] != number and numbers[k] in web.lines for k in other.tolist()]
    return len(np.unique(spot[there])) >= SHARE * len(spots)
