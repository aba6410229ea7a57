"""Which way rides go on at junctions.

Gets a web and aligned samples; counts, for every junction and for every short line between two, by
which line rides came and by which they went on.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise
from typing import TypeAlias

from loopwright.model.arrays import Floats
from loopwright.network.attract import Aligned
from loopwright.network.passes import runs_on
from loopwright.network.samples import Samples
from loopwright.network.stations import abreast_of, stations_of
from loopwright.network.web import End, Web

Trip: TypeAlias = tuple[End, End]
"""Between one line's end and another's, either way; the lower first."""
REACH_M = 6.0
"""A sample of a ride so near to a line rides it."""
GAP_ROWS = 8
"""Samples that may lie on neither line where a ride goes on by another: it cuts the corner."""
SHORT_M = 90.0
"""Two trails fused by errors are so for less: an error fades over some 250 m."""


@dataclass(slots=True)
class Trips:
    """How often rides went from line to line: at each node, and over each short line."""

    at: dict[int, Counter[Trip]] = field(default_factory=dict)
    over: dict[int, Counter[Trip]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class _Run:
    """Unbroken riding on a line, rows ``first`` to ``last``."""

    number: int
    onward: bool
    piece: int
    first: int
    last: int

    @property
    def came(self) -> End:
        """The end of the line it came by."""
        return self.number, not self.onward

    @property
    def left(self) -> End:
        """The end of the line it left by."""
        return self.number, self.onward

    def goes_on(self, other: _Run) -> bool:
        """Tell whether the ride goes on with ``other``."""
        return self.piece == other.piece and other.first - self.last <= GAP_ROWS


def trip(one: End, two: End) -> Trip:
    """Name a trip, whichever way round."""
    return (one, two) if one <= two else (two, one)


def count_trips(web: Web, samples: Samples, aligned: Aligned, ele: Floats) -> Trips:
    """Count all trips of aligned ``samples``, heights ``ele`` ``(n,)`` metres."""
    found = Trips()
    links = _links(web)
    steps = list(pairwise(_runs(web, samples, aligned, ele)))
    for one, two in steps:
        if one.goes_on(two):
            ends = web.node_of(one.left), web.node_of(two.came)
            if ends[0] == ends[1]:
                found.at.setdefault(ends[0], Counter())[trip(one.left, two.came)] += 1
            elif (link := links.get((min(ends), max(ends)))) is not None:
                # The ride was on the link for so short that no sample shows it.
                found.over.setdefault(link, Counter())[trip(one.left, two.came)] += 1
    for (one, two), (_, three) in pairwise(steps):
        if one.goes_on(two) and two.goes_on(three) and _through(web, one, two, three):
            found.over.setdefault(two.number, Counter())[trip(one.left, three.came)] += 1
    return found


def _through(web: Web, one: _Run, two: _Run, three: _Run) -> bool:
    return web.node_of(one.left) == web.node_of(two.came) and (
        web.node_of(two.left) == web.node_of(three.came)
    )


def _links(web: Web) -> dict[tuple[int, int], int]:
    """Short lines by the nodes they join."""
    return {
        (min(line.a, line.b), max(line.a, line.b)): number
        for number, line in sorted(web.lines.items())
        if line.a != line.b and line.length_m <= SHORT_M
    }


def _runs(web: Web, samples: Samples, aligned: Aligned, ele: Floats) -> Iterator[_Run]:
    numbers = sorted(web.lines)
    table = stations_of([web.lines[k].xyz for k in numbers])
    near = abreast_of(table, aligned.xy, aligned.head, ele, reach_m=REACH_M)
    first, last = runs_on(table, near, samples, aligned.head)
    station = near.station[first]
    onward = (table.tangent[station] * aligned.head[first]).sum(axis=1) >= 0
    columns = (table.line[station], onward, samples.piece[first], first, last)
    for place, *rest in zip(*(column.tolist() for column in columns), strict=True):
        yield _Run(numbers[place], *rest)
