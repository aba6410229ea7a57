"""Tie loose ends at which no ride turns back.

Gets a web and aligned samples. At the end of a trail rides turn round, begin or stop; where they
come by and go on along another line, errors hid the last metres of the way there. Such an end is
tied to where its rides go on. Promises: an end at which rides turn stays an end.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from loopwright.model.arrays import Floats
from loopwright.network.attract import Aligned
from loopwright.network.passes import runs_on
from loopwright.network.samples import Samples
from loopwright.network.stations import abreast_of, stations_of
from loopwright.network.trips import REACH_M
from loopwright.network.web import End, Web

TIP_M = 20.0
"""So near a loose end a ride has come to it."""
AHEAD_ROWS = 24
"""Samples (120 m) looked at to tell where a ride came from or went."""
RUN_ROWS = 4
"""Riding that shows which line a ride is on, in samples: less is a slip of the matching."""
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


@dataclass(frozen=True, slots=True)
class _Run:
    """Riding on a line, rows ``first`` to ``last`` of a piece; ends of the line it comes to."""

    number: int
    piece: int
    first: int
    last: int
    came: End | None
    left: End | None


def tie_onward(web: Web, samples: Samples, aligned: Aligned, ele: Floats) -> int:
    """Tie loose ends that rides go on from to the line they go on by; gives how many."""
    tips = [node for node in sorted(web.nodes) if web.degree(node) == 1]
    loose = [end for node in tips for end in web.ends_at(node)]
    if not loose:
        return 0
    told = {end: _Told() for end in loose}
    _tell(list(_runs(web, samples, aligned, ele)), samples, told)
    ends = [(web.node_of(end), np.array(one.onward)) for end, one in told.items() if one.passed]
    return sum(
        _tied(web, node, aligned.xy[rows], aligned.head[rows], ele[rows]) for node, rows in ends
    )


def _runs(web: Web, samples: Samples, aligned: Aligned, ele: Floats) -> Iterator[_Run]:
    numbers = sorted(web.lines)
    table = stations_of([web.lines[k].xyz for k in numbers])
    near = abreast_of(table, aligned.xy, aligned.head, ele, reach_m=REACH_M)
    place = table.dist[near.station] + near.forth
    line = table.line[near.station]
    length = table.dist[table.first[1:] - 1]
    first, last = runs_on(table, near, samples, aligned.head)
    for a, b in zip(first.tolist(), last.tolist(), strict=True):
        if b - a + 1 < RUN_ROWS:
            continue
        number, rest = numbers[int(line[a])], length[line[a]] - place[[a, b]]
        onward = bool(place[b] >= place[a])
        start, stop = (place[a], rest[1]) if onward else (rest[0], place[b])
        yield _Run(
            number=number, piece=int(samples.piece[a]), first=a, last=b,
            came=(number, not onward) if start <= TIP_M else None,
            left=(number, onward) if stop <= TIP_M else None,
        )  # fmt: skip


def _tell(runs: Sequence[_Run], samples: Samples, told: dict[End, _Told]) -> None:
    """Tell of every loose end what rides do there."""
    nothing = _Run(-1, -1, -1, -1, None, None)
    for one, two in zip([nothing, *runs], [*runs, nothing], strict=True):
        together = one.piece == two.piece and two.first - one.last <= AHEAD_ROWS
        if together and one.number != two.number:
            if one.left in told:
                told[one.left].onward.append(two.first)
            if two.came in told:
                told[two.came].onward.append(one.last)
        elif together and one.left in told:
            told[one.left].ended += 1
        elif one.piece != two.piece:
            if one.left in told and samples.first[one.piece + 1] - one.last <= AHEAD_ROWS:
                told[one.left].ended += 1
            if two.came in told and two.first - samples.first[two.piece] < AHEAD_ROWS:
                told[two.came].ended += 1


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
