"""Which streets of a map recorded trips took, by a hidden Markov model.

Gets streets and trips; gives the streets some trip took. That a trip came near a street does not
say that it took it: of all ways through the map the likeliest is looked for, as by Newson and Krumm
(2009, doi 10.1145/1653771.1653818). Knows nothing of how networks are built.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import dijkstra
from shapely import STRtree, linestrings, points

from loopwright.model.arrays import Floats

ERROR_M = 5.0
"""Standard error of a point: 1.48 times the median distance from the streets, as there."""
TAIL = 2.0
"""Beyond so many errors a point is less unlikely than a normal one: walls throw it far off."""
UNLIKE_M = 6.0
"""A way that differs so much from the straight gap in length is less likely by a factor e. Half and
twice of it, and half as much error again, leave 44.3 to 45.6 of the 44.9 km of bus streets."""
THIN_M = 2 * ERROR_M
"""Points nearer to the last one kept tell nothing new, as there."""
REACH_M, STREETS = 50.0, 10
"""Looked at for a point are so many of the nearest streets, no further off."""
LONGEST_M, LONGEST_WAY_M = 250.0, 900.0
"""Gaps and ways that are longer end what is followed."""
AGAINST = 3.0
"""A metre against a one-way street counts for so many."""
TURN_M = 60.0
"""Turning back within a street counts for so many metres."""
MOST = 0.5
"""A street at an end of what is followed counts from this share on."""

Rows = NDArray[np.int64]
Way = tuple[int, int, bool]
"""A street between two numbered places; true where it may be driven from the first only."""


@dataclass(frozen=True, slots=True)
class _Spots:
    """Places a point may be at: lane, metres along it, and what the point's error counts for."""

    lane: Rows
    run_m: Floats
    cost: Floats


class Streets:
    """A street map to follow trips on. A *lane* is one way of a street: 2 k and 2 k + 1."""

    def __init__(self, ways: Sequence[Way], places: Mapping[int, Floats]) -> None:
        """Take streets between numbered ``places`` ``(2,)`` in metres."""
        self._names = sorted(places)
        number = {name: k for k, name in enumerate(self._names)}
        self._xy = np.array([places[name] for name in self._names])
        both = [(number[a], number[b], one_way) for a, b, one_way in ways if a != b]
        self._from = np.array([end for a, b, _ in both for end in (a, b)])
        self._to = np.array([end for a, b, _ in both for end in (b, a)])
        self._length = np.hypot(*(self._xy[self._to] - self._xy[self._from]).T)
        self._weight = np.array([w for *_, one in both for w in (1.0, AGAINST if one else 1.0)])
        self._lanes = self._cheapest()
        cost = [self._length[k] * self._weight[k] for k in self._lanes.values()]
        ends = np.array(list(self._lanes)).T
        self._graph = csr_matrix((cost, ends), shape=(len(places), len(places)))
        self._tree = STRtree(linestrings(self._xy[np.column_stack((self._from, self._to))[::2]]))
        self._seen: dict[int, tuple[Floats, Rows]] = {}

    def _cheapest(self) -> dict[tuple[int, int], int]:
        """Name the lane that counts least from place to place."""
        order = np.argsort(-self._length * self._weight, kind="stable").tolist()
        return {(int(self._from[k]), int(self._to[k])): k for k in order if self._length[k] > 0}

    def taken(self, trips: Sequence[Floats]) -> set[tuple[int, int]]:
        """Give the pairs of places, smaller first, of all streets that ``trips`` took.

        Each trip is ``(n, 2)`` in metres.
        """
        lanes = {lane for xy in trips for lane in self.followed(xy)}
        ends = ((self._names[self._from[k]], self._names[self._to[k]]) for k in lanes)
        return {(min(pair), max(pair)) for pair in ends}

    def followed(self, xy: Floats) -> set[int]:
        """Give the lanes of the likeliest way of one trip ``(n, 2)`` in metres."""
        lanes: set[int] = set()
        back: list[Rows] = []
        spots: list[_Spots] = []
        total, last = np.zeros(0), xy[0]
        for k, place in enumerate(xy):
            gap_m = float(np.hypot(*(place - last)))
            if k and gap_m < THIN_M:
                continue
            here = self._spots(place)
            costs = total[:, None] + self._apart(spots[-1], here, gap_m) if spots else None
            if costs is None or gap_m > LONGEST_M or not np.isfinite(costs).any():
                lanes |= self._walked(spots, back, total)
                spots, back, total = [], [], here.cost
            else:
                back.append(costs.argmin(axis=0))
                total = costs.min(axis=0) + here.cost
            spots, last = ([*spots, here] if len(here.lane) else []), place
        return lanes | self._walked(spots, back, total)

    def _spots(self, place: Floats) -> _Spots:
        """Find where a point may be: on either lane of the nearest streets."""
        row = 2 * self._tree.query(points(place), predicate="dwithin", distance=REACH_M)
        start = self._xy[self._from[row]]
        ahead = self._xy[self._to[row]] - start
        size = np.maximum(self._length[row], 1e-9)
        run = np.clip(((place - start) * ahead).sum(axis=1) / size, 0.0, size)
        off = np.hypot(*(start + ahead * (run / size)[:, None] - place).T) / ERROR_M
        near = np.argsort(off, kind="stable")[:STREETS]
        row, run, size, off = row[near], run[near], size[near], off[near]
        cost = np.where(off < TAIL, off**2 / 2, TAIL * (off - TAIL / 2))
        return _Spots(np.append(row, row + 1), np.append(run, size - run), np.append(cost, cost))

    def _apart(self, one: _Spots, two: _Spots, gap_m: float) -> Floats:
        """Tell how unlike ``(n, m)`` the ways between spots are to a gap of so many metres."""
        out = np.empty((len(one.lane), len(two.lane)))
        for k, (lane, run) in enumerate(zip(one.lane.tolist(), one.run_m.tolist(), strict=True)):
            weight = self._weight[two.lane]
            rest = (self._length[lane] - run) * self._weight[lane]
            out[k] = rest + self._ways(lane)[0][self._from[two.lane]] + two.run_m * weight
            onward = (two.lane == lane) & (two.run_m > run - THIN_M)
            out[k][onward] = np.abs(two.run_m[onward] - run) * weight[onward]
            out[k][two.lane == (lane ^ 1)] += TURN_M
        return np.abs(out - gap_m) / UNLIKE_M

    def _ways(self, lane: int) -> tuple[Floats, Rows]:
        """Give metres to each place from the end of a lane, and the place before it."""
        end = int(self._to[lane])
        if end not in self._seen:
            far, before = dijkstra(
                self._graph, indices=[end], limit=LONGEST_WAY_M, return_predecessors=True
            )
            self._seen[end] = far[0], before[0].astype(np.int64)
        return self._seen[end]

    def _walked(self, spots: Sequence[_Spots], back: Sequence[Rows], total: Floats) -> set[int]:
        """Follow the likeliest way back; gives its lanes, those at both ends if mostly taken."""
        if len(spots) < 2:
            return set()
        at = int(total.argmin())
        path = [(int(spots[-1].lane[at]), float(spots[-1].run_m[at]))]
        for here, row in zip(reversed(spots[:-1]), reversed(back), strict=True):
            at = int(row[at])
            path.append((int(here.lane[at]), float(here.run_m[at])))
        path.reverse()
        lanes: list[int] = [path[0][0]]
        for (before, _), (after, _) in pairwise(path):
            if after != before:
                lanes += [*self._between(before, after), after]
        (start, from_m), (end, to_m) = path[0], path[-1]
        least_m = MOST * self._length[[start, end]]
        if len(lanes) == 1:
            return set(lanes) if to_m - from_m > least_m[0] else set()
        first, last = self._length[start] - from_m > least_m[0], to_m > least_m[1]
        return set(lanes[0 if first else 1 : len(lanes) if last else -1])

    def _between(self, before: int, after: int) -> list[int]:
        """Give the lanes of the shortest way from the end of one lane to the start of another."""
        towards = self._ways(before)[1]
        place, lanes = int(self._from[after]), []
        while place != self._to[before]:
            lanes.append(self._lanes[int(towards[place]), place])
            place = int(towards[place])
        return lanes[::-1]
