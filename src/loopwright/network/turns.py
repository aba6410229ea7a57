"""Tie lines that rides change between.

Gets a web and aligned samples; ties two lines where rides turn from one into the other and no
junction joins them. At a crossroads where every ride turns, the lines are corners that may lie
farther apart than errors should let them; that rides change over tells that they meet. Promises:
lines that run beside each other are left apart; no ride changes over on a bridge.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from loopwright.geo.polyline import along
from loopwright.model.arrays import Floats
from loopwright.network.attract import Aligned
from loopwright.network.rows import Rows
from loopwright.network.runs import runs_of
from loopwright.network.samples import Samples
from loopwright.network.web import Web

SAME_M = 30.0
"""Changes this near along both lines are at one place; so is a junction that already joins them."""
LEAST, SHARE = 2, 0.3
"""Passes that must change over, and against the passes of the line ridden less: few may stray."""
MEET_M = 12.0
"""Lines farther apart do not meet: four errors of an aligned line."""
RING_M = 60.0
"""A line meets itself only so far along: at the end of a ring, not between a hairpin's legs."""
AWAY_M, AWAY_GAP_M = 25.0, 9.0
"""So far on, both ways, the lines must lie so far apart, or they run side by side."""


@dataclass(frozen=True, slots=True, order=True)
class _Change:
    """A pass leaves line ``one`` at ``one_m`` for line ``two`` at ``two_m`` (metres along)."""

    one: int
    two: int
    one_m: float
    two_m: float


def tie_turns(web: Web, samples: Samples, aligned: Aligned, ele: Floats) -> int:
    """Tie lines where rides change over; gives how many places were tied."""
    tied, again = 0, True
    while again:
        again = False
        for place in _places(sorted(_changes(web, samples, aligned, ele))):
            if place[0].one in web.lines and place[0].two in web.lines:
                tied += _tied(web, place)
            else:  # a tie before has cut one of them: look anew
                again = True
    return tied


def _changes(web: Web, samples: Samples, aligned: Aligned, ele: Floats) -> Iterator[_Change]:
    for one, two in pairwise(run for run in runs_of(web, samples, aligned, ele) if run.sure):
        other = one.number != two.number or abs(one.to_m - two.from_m) > RING_M
        if other and one.goes_on(two):
            ends = sorted(((one.number, one.to_m), (two.number, two.from_m)))
            yield _Change(ends[0][0], ends[1][0], ends[0][1], ends[1][1])


def _places(changes: Sequence[_Change]) -> Iterator[list[_Change]]:
    """Gather changes between the same two lines near one place."""
    group: list[_Change] = []
    for change in changes:
        same = group and (change.one, change.two) == (group[-1].one, group[-1].two)
        if group and not (same and change.one_m - group[-1].one_m <= SAME_M):
            if len(group) >= LEAST:
                yield group
            group = []
        group.append(change)
    if len(group) >= LEAST:
        yield group


def _tied(web: Web, place: Sequence[_Change]) -> bool:
    one, two = place[0].one, place[0].two
    if len(place) < SHARE * min(web.lines[one].passes, web.lines[two].passes):
        return False
    spots = [float(np.median([c.one_m for c in place])), float(np.median([c.two_m for c in place]))]
    if _joined(web, (one, two), spots):
        return False
    vertex = _nearest(web.lines[one].xyz, web.lines[two].xyz, spots)
    if vertex is None or not _part(web.lines[one].xyz, web.lines[two].xyz, vertex):
        return False
    # The later vertex first: what is left of a line that meets itself keeps its earlier ones.
    there = web.node_at(two, vertex[1])
    if one not in web.lines:
        one = next(k for k in web.at[there] if web.lines[k].b == there)
    here = web.node_at(one, vertex[0])
    if here == there:  # joined there already, by lines of few vertices
        return False
    web.merge_nodes(here, there)
    return True


def _nearest(one: Floats, two: Floats, spots: Sequence[float]) -> tuple[int, int] | None:
    """Give the vertices of two lines where they come nearest about ``spots``; None if too far."""
    rows = [_around(xyz, at) for xyz, at in zip((one, two), spots, strict=True)]
    a, b = one[rows[0], :2], two[rows[1], :2]
    gap = np.hypot(*(a[:, None] - b[None]).transpose(2, 0, 1))
    i, j = np.unravel_index(int(gap.argmin()), gap.shape)
    return (int(rows[0][i]), int(rows[1][j])) if gap[i, j] <= MEET_M else None


def _joined(web: Web, pair: Sequence[int], spots: Sequence[float]) -> bool:
    """Tell whether a junction, or two with a short link, joins two lines at ``spots``."""
    near = [_ends(web, number, at) for number, at in zip(pair, spots, strict=True)]
    linked = {
        end
        for node in near[0]
        for number in web.at[node]
        if web.lines[number].length_m <= SAME_M
        for end in (web.lines[number].a, web.lines[number].b)
    }
    return bool((near[0] | linked) & near[1])


def _ends(web: Web, number: int, at_m: float) -> set[int]:
    line = web.lines[number]
    ends = {line.a} if at_m <= SAME_M else set()
    return ends | ({line.b} if line.length_m - at_m <= SAME_M else set())


def _around(xyz: Floats, at_m: float) -> Rows:
    """Vertices of a line near a place along it."""
    run = along(xyz[:, :2])
    rows = np.flatnonzero(np.abs(run - at_m) <= SAME_M)
    return rows if len(rows) else np.array([np.abs(run - at_m).argmin()])


def _part(one: Floats, two: Floats, vertex: tuple[int, int]) -> bool:
    """Tell whether each line leaves the other on both sides of where they meet."""
    return _leaves(one, vertex[0], two) and _leaves(two, vertex[1], one)


def _leaves(xyz: Floats, vertex: int, other: Floats) -> bool:
    run = along(xyz[:, :2])
    for step in (-AWAY_M, AWAY_M):
        want = run[vertex] + step
        if 0.0 <= want <= run[-1]:
            spot = np.array([np.interp(want, run, xyz[:, k]) for k in (0, 1)])
            gap = np.hypot(*(other[:, :2] - spot).T)
            if other is xyz:
                gap = gap[np.abs(run - want) > SAME_M]
            if gap.min() < AWAY_GAP_M:
                return False
    return True
