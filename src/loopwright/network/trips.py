"""Which way rides go on at junctions.

Gets a web and the runs over it; counts, for every junction and for every short line between two, by
which line rides came and by which they went on.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import pairwise
from typing import TypeAlias

from loopwright.network.runs import Run
from loopwright.network.web import End, Web

Trip: TypeAlias = tuple[End, End]
"""Between one line's end and another's, either way; the lower first."""
SHORT_M = 90.0
"""Two trails fused by errors are so for less: an error fades over some 250 m."""


@dataclass(slots=True)
class Trips:
    """How often rides went from line to line: at each node, and over each short line."""

    at: dict[int, Counter[Trip]] = field(default_factory=dict)
    over: dict[int, Counter[Trip]] = field(default_factory=dict)


def trip(one: End, two: End) -> Trip:
    """Name a trip, whichever way round."""
    return (one, two) if one <= two else (two, one)


def count_trips(web: Web, runs: Iterable[Run]) -> Trips:
    """Count all trips of ``runs`` over a web, in the order they were ridden."""
    found = Trips()
    links = _links(web)
    steps = list(pairwise(runs))
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


def _through(web: Web, one: Run, two: Run, three: Run) -> bool:
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
