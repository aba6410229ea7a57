"""Part lines that touch where no ride changes over.

Gets a web and aligned samples; where two trails run so close that errors laid them together for a
while, their lines meet in a false junction, or share a false piece. Every ride then goes on along
the trail it came by. Such a joint is opened: each trail gets a line of its own. Promises: lines
that cross stay a junction, and so does a joint where rides change over.
"""

from __future__ import annotations

from collections import Counter

import numpy as np
from shapely import LineString

from loopwright.geo.polyline import at, length_m
from loopwright.model.arrays import Floats
from loopwright.network.attract import Aligned
from loopwright.network.runs import runs_of
from loopwright.network.samples import Samples
from loopwright.network.trips import SHORT_M, Trip, count_trips, trip
from loopwright.network.web import End, Web

LEAST = 2
"""Rides that must have gone each of the two ways."""
CHANGE = 0.25
"""Share of rides that may seem to change over, by slips of the matching, where the lines run beside
each other on one side of the joint or both. A tenth for one side left the pigtails of hairpins."""
OUT_M, BESIDE_M = 25.0, 15.0
"""So far out from the joint, lines this near run beside each other: at 42 degrees and more, the
least that parts the ways of an invented crossing, they are 18 m apart."""


def unzip(web: Web, samples: Samples, aligned: Aligned, ele: Floats) -> int:
    """Open joints that no ride needs; gives how many."""
    found = count_trips(web, runs_of(web, samples, aligned, ele))
    links = sum(_opened_link(web, number, found.over[number]) for number in sorted(found.over))
    return links + sum(_opened(web, node, found.at[node]) for node in sorted(found.at))


def _opened_link(web: Web, number: int, counts: Counter[Trip]) -> bool:
    """Make two lines of one that two trails share."""
    line = web.lines[number]
    if line.a == line.b or line.length_m > SHORT_M:
        return False
    here, there = (
        [end for end in web.ends_at(node) if end[0] != number] for node in (line.a, line.b)
    )
    if (len(here), len(there)) != (2, 2):
        return False
    sides = _beside(web, *here) + _beside(web, *there)
    for mate, other in (there, there[::-1]):
        ways = trip(here[0], mate), trip(here[1], other)
        if _apart(counts, *ways, sides=sides) and not _crossed(web, *ways):
            a, b = _moved(web, here[1]), _moved(web, other)
            web.add_line(a, b, line.xyz.copy(), line.passes)
            return True
    return False


def _opened(web: Web, node: int, counts: Counter[Trip]) -> bool:
    """Part two lines that touch at a node."""
    if node not in web.nodes or web.degree(node) != 4:
        return False
    first, *rest = web.ends_at(node)
    for mate in rest:
        other = [end for end in rest if end != mate]
        sides = max(_beside(web, first, x) + _beside(web, mate, y) for x, y in (other, other[::-1]))
        ways = trip(first, mate), trip(*other)
        if _apart(counts, *ways, sides=sides) and not _crossed(web, *ways):
            new = _moved(web, other[0])
            web.rehang(other[1], new)
            return True
    return False


def _crossed(web: Web, one: Trip, two: Trip) -> bool:
    """Tell whether the ways of two trips cross: their ends lie by turns round the joint."""
    ways = [LineString([place_out(web, end, OUT_M) for end in way]) for way in (one, two)]
    return bool(ways[0].crosses(ways[1]))


def _apart(counts: Counter[Trip], one: Trip, two: Trip, *, sides: int) -> bool:
    """Tell whether rides keep to the two trips; ``sides`` on which the lines run abreast."""
    kept = counts[one] + counts[two]
    # Who turns back by the way he came does not change over.
    total = sum(count for (came, left), count in counts.items() if came != left)
    often = min(counts[one], counts[two]) >= LEAST
    return sides > 0 and often and total - kept <= CHANGE * total


def _moved(web: Web, end: End) -> int:
    """Hang a line's end on a node of its own, where it is; gives the node."""
    new = web.new_node()
    web.add_node(new, web.nodes[web.node_of(end)])
    web.rehang(end, new)
    return new


def _beside(web: Web, one: End, two: End) -> int:
    gap = place_out(web, one, OUT_M) - place_out(web, two, OUT_M)
    return int(np.hypot(*gap) < BESIDE_M)


def place_out(web: Web, end: End, out_m: float) -> Floats:
    """Give the place ``(2,)`` some way out from a line's end; halfway on a short line."""
    xy = web.from_end(end)[:, :2]
    return np.asarray(at(xy, np.array([min(out_m, length_m(xy) / 2)]))[0])
