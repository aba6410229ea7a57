"""Tie loose ends at which no ride turns back.

Gets a web and aligned samples. At the end of a trail rides turn round, begin or stop; where they
come by and go on along another line, errors hid the last metres of the way there. Such an end is
tied to where its rides go on. Promises: an end at which rides turn stays an end.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from loopwright.model.arrays import Floats
from loopwright.network.attract import Aligned
from loopwright.network.runs import REACH_M, Run, runs_of
from loopwright.network.samples import Samples
from loopwright.network.stations import abreast_of, stations_of
from loopwright.network.web import End, Web

TIP_M = 20.0
"""So near a loose end a ride has come to it."""
AHEAD_ROWS = 24
"""Samples (120 m) looked at to tell where a ride came from or went."""
LEAST, TURNED = 2, 0.5
"""Rides that must go on, and how many for each of them may have turned or stopped."""
TIE_M = 30.0
"""Lines farther off are not met."""


@dataclass(slots=True)
class _Told:
    """Rides that turned, began or stopped at a loose end; the samples where others went on."""

    ended: int = 0
    onward: list[int] = field(default_factory=list)

    @property
    def passed(self) -> bool:
        """Tell whether rides only come by."""
        return len(self.onward) >= LEAST and self.ended <= TURNED * len(self.onward)


def tie_onward(web: Web, samples: Samples, aligned: Aligned, ele: Floats) -> int:
    """Tie loose ends that rides go on from to the line they go on by; gives how many."""
    tips = [node for node in sorted(web.nodes) if web.degree(node) == 1]
    told = {end: _Told() for node in tips for end in web.ends_at(node)}
    if not told:
        return 0
    _tell(web, runs_of(web, samples, aligned, ele), samples, told)
    ends = [(web.node_of(end), np.array(one.onward)) for end, one in told.items() if one.passed]
    return sum(
        _tied(web, node, aligned.xy[rows], aligned.head[rows], ele[rows]) for node, rows in ends
    )


def _tell(web: Web, runs: Iterable[Run], samples: Samples, told: dict[End, _Told]) -> None:
    """Tell of every loose end what rides do there."""
    none, elsewhere = Run(-1, True, -1, -1, -1, 0.0, 0.0), _Told()  # noqa: FBT003 - no run at all

    def at(end: End, place_m: float) -> _Told:
        if end not in told:
            return elsewhere
        rest_m = web.lines[end[0]].length_m - place_m if end[1] else place_m
        return told[end] if rest_m <= TIP_M else elsewhere

    for one, two in pairwise([none, *(run for run in runs if run.sure), none]):
        left, came = at(one.left, one.to_m), at(two.came, two.from_m)
        if one.piece != two.piece:
            left.ended += int(samples.first[one.piece + 1] - one.last <= AHEAD_ROWS)
            came.ended += int(two.first - samples.first[two.piece] < AHEAD_ROWS)
        elif not one.goes_on(two, within=AHEAD_ROWS):
            continue
        elif one.number == two.number:
            left.ended += 1
        else:
            left.onward.append(two.first)
            came.onward.append(one.last)


def _tied(web: Web, node: int, xy: Floats, head: Floats, ele: Floats) -> bool:
    """Tie a node to the nearest of the lines that samples ``(k, 2)`` ride."""
    if web.degree(node) != 1:
        return False
    numbers = [k for k in sorted(web.lines) if k not in web.at[node]]
    table = stations_of([web.lines[k].xyz for k in numbers])
    station = abreast_of(table, xy, head, ele, reach_m=REACH_M).station
    reached = [
        (*_nearest(web.lines[numbers[k]].xyz, web.nodes[node]), numbers[k])
        for k in np.unique(table.line[station[station >= 0]]).tolist()
    ]
    gap_m, vertex, number = min(reached, default=(np.inf, 0, 0))
    if gap_m > TIE_M:
        return False
    web.merge_nodes(web.node_at(number, vertex), node)
    return True


def _nearest(xyz: Floats, place: Floats) -> tuple[float, int]:
    """Give the metres to the nearest vertex of a line, and which it is."""
    gap = np.hypot(*(xyz[:, :2] - place[:2]).T)
    return float(gap.min()), int(gap.argmin())
