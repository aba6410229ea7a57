"""Tie loose ends at which no ride turns back.

Gets a web and aligned samples. At the end of a trail rides turn round, begin or stop; where they
come by and go on along another line, errors hid the last metres of the way there. Such an end is
tied to where its rides go on, or carried on along them. Promises: an end at which more rides
turn than go on stays an end.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from loopwright.model.arrays import Floats
from loopwright.network.attract import Aligned
from loopwright.network.carry import LEAST, carry_on
from loopwright.network.rows import Rows
from loopwright.network.runs import REACH_M, runs_of
from loopwright.network.samples import STEP_M, Samples
from loopwright.network.stations import abreast_of, stations_of
from loopwright.network.web import End, Web

TIP_M = 20.0
"""So near a loose end a ride has come to it."""
AHEAD_ROWS = 40
"""Samples (200 m) looked at to tell where a ride came from or went."""
TIE_M = 30.0
"""To a line farther off an end is not tied straight."""
ROUND, ROUND_M = 1.5, 60.0
"""Who comes to the same line again, so many times as far from the end as was ridden meanwhile and
so far, went round: who turned at the end would have ridden it all."""


@dataclass(slots=True)
class _Told:
    """How many rides turned at a loose end; samples at it and where the ride goes on, of others."""

    turned: int = 0
    onward: list[tuple[int, int]] = field(default_factory=list)

    @property
    def passed(self) -> bool:
        """Tell whether as many rides come by as turn, and more, though some begin or stop."""
        return len(self.onward) >= LEAST and self.turned <= len(self.onward)


def tie_onward(web: Web, samples: Samples, aligned: Aligned, ele: Floats) -> int:
    """Tie loose ends that rides go on from to the line they go on by; gives how many."""
    tips = [node for node in sorted(web.nodes) if web.degree(node) == 1]
    told = {end: _Told() for node in tips for end in web.ends_at(node)}
    if not told:
        return 0
    for one, two in pairwise(run for run in runs_of(web, samples, aligned, ele) if run.sure):
        if one.goes_on(two, within=AHEAD_ROWS):
            rows = (one.last, two.first)
            left, came = (one.left, one.to_m), (two.came, two.from_m)
            # Who turns leaves and comes by one end, and is told of once.
            if not _tell(web, told, left, came, rows) or one.left != two.came:
                _tell(web, told, came, left, rows[::-1])
    ends = [(web.node_of(end), np.array(one.onward)) for end, one in told.items() if one.passed]
    return sum(_tied(web, node, ways, aligned, ele) for node, ways in ends)


def _tell(
    web: Web,
    told: dict[End, _Told],
    here: tuple[End, float],
    there: tuple[End, float],
    rows: tuple[int, int],
) -> bool:
    """Tell of a ride that left a line by an end ``here`` and goes on ``there``, metres along.

    False where that is no loose end, or the ride was not near it.
    """
    (end, at_m), (other, to_m) = here, there
    if end not in told or _from_end_m(web, end, at_m) > TIP_M:
        return False
    round_m = max(ROUND * STEP_M * abs(rows[1] - rows[0]), ROUND_M)
    if other[0] != end[0] or _from_end_m(web, end, to_m) > round_m:
        told[end].onward.append(rows)
    else:
        told[end].turned += 1
    return True


def _from_end_m(web: Web, end: End, place_m: float) -> float:
    return web.lines[end[0]].length_m - place_m if end[1] else place_m


def _tied(web: Web, node: int, ways: Rows, aligned: Aligned, ele: Floats) -> bool:
    """Tie a node to the nearest of the lines that rides go on by, or carry its trail on there.

    ``ways`` ``(k, 2)`` are the samples of each ride at the end and where it goes on.
    """
    if web.degree(node) != 1:
        return False
    numbers, rows = sorted(web.lines), ways[:, 1]
    table = stations_of([web.lines[k].xyz for k in numbers])
    near = abreast_of(table, aligned.xy[rows], aligned.head[rows], ele[rows], reach_m=REACH_M)
    found = near.station >= 0
    met = [numbers[k] for k in table.line[near.station[found]].tolist()]
    reached = web.nearest(web.nodes[node], set(met) - web.at[node])
    gap_m, number, vertex = reached[0] if reached else (np.inf, 0, 0)
    if gap_m > TIE_M:
        return carry_on(web, node, [_way(aligned, ele, *way) for way in ways[found].tolist()], met)
    web.merge_nodes(web.node_at(number, vertex), node)
    return True


def _way(aligned: Aligned, ele: Floats, at: int, to: int) -> Floats:
    """Give the places ``(n, 3)`` of a ride between two of its samples, in either order."""
    rows = np.arange(at, to + 1) if at <= to else np.arange(at, to - 1, -1)
    return np.column_stack((aligned.xy[rows], ele[rows]))
