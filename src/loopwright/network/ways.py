"""Ways along the lines of a web, from one place to another.

Gets a web and the places of recorded points; gives the way that points speak for. Beside a bend
that several rides cut, the bend has points along it, a cut has none.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from scipy.spatial import cKDTree

from loopwright.geo.planar import dots
from loopwright.model.arrays import Floats
from loopwright.network.attract import window_sums
from loopwright.network.rows import Rows
from loopwright.network.stations import STATION_M, Stations, stations_of
from loopwright.network.web import Web

ACROSS_M, ALONG_M = 5.0, 10.0
"""A place on a line is spoken for by points of any ride no further off: as far as aligned passes of
one line lie, and twice a sample's step either way along."""
UNSEEN = 1.0
"""A metre without such points counts for so many metres more; with one point, for a third of it."""
SEEN = 1.1
"""A way along one line that counts for no more than this times its length is not looked beyond."""
APART_M = 15.0
"""A line may pass a place twice, as in a hairpin: places further apart along it are two."""

Part: TypeAlias = tuple[int, float, float]
"""A line's place in the list, and metres along it from where to where."""


@dataclass(frozen=True, slots=True)
class Spot:
    """A place on line ``line``, ``run_m`` along it, ``off_m`` from the point that may be there."""

    line: int
    run_m: float
    off_m: float


@dataclass(frozen=True, slots=True)
class Route:
    """The parts of lines that lead from one spot to another, and what they count for in metres."""

    parts: tuple[Part, ...]
    cost_m: float
    length_m: float


class Ways:
    """The lines of a web, each metre with what it costs."""

    def __init__(self, web: Web, points: Floats) -> None:
        """Weigh the lines of ``web`` by recorded points ``(n, 2)`` in metres, as aligned."""
        lines = [web.lines[number] for number in sorted(web.lines)]
        self._ends = [(line.a, line.b) for line in lines]
        self._table = stations_of([line.xyz for line in lines])
        self._tree = cKDTree(self._table.xyz[:, :2])
        self._cost = _costs(self._table, _seen(self._table, self._tree, points))
        last = self._table.first[1:] - 1
        self._length, self._whole = self._table.dist[last].tolist(), self._cost[last].tolist()
        self._at: dict[int, list[tuple[int, bool]]] = {}
        for line, (a, b) in enumerate(self._ends):
            self._at.setdefault(a, []).append((line, True))
            self._at.setdefault(b, []).append((line, False))

    def spots(self, xy: Floats, reach_m: float) -> list[list[Spot]]:
        """Find for each place ``(n, 2)`` the nearest spot of every line within reach."""
        found = self._tree.query_ball_point(xy, reach_m, return_sorted=True)
        return [
            self._spots(place, np.array(rows, dtype=np.int64))
            for place, rows in zip(xy, found, strict=True)
        ]

    def _spots(self, place: Floats, rows: Rows) -> list[Spot]:
        off = place - self._table.xyz[rows, :2]
        forth = dots(off, self._table.tangent[rows])
        far = np.hypot(off[:, 0], off[:, 1])
        out: list[Spot] = []
        for k in np.argsort(far, kind="stable").tolist():
            line, dist = int(self._table.line[rows[k]]), float(self._table.dist[rows[k]])
            if all(s.line != line or abs(s.run_m - dist) >= APART_M for s in out):
                run_m = min(max(dist + float(forth[k]), 0.0), self._length[line])
                out.append(Spot(line, run_m, float(far[k])))
        return out

    def route(self, one: Spot, two: Spot, most_m: float) -> Route | None:
        """Give the way that counts least, of those up to ``most_m`` long; None without one."""
        best = self._along(one, two)
        if best is not None and best.cost_m <= SEEN * best.length_m:
            return best if best.length_m <= most_m else None
        if best is not None and best.length_m > most_m:
            best = None
        for route, node in self._by_nodes(one, most_m):
            if best is not None and route.cost_m >= best.cost_m:
                break
            for last in (False, True):
                if self._ends[two.line][last] == node:
                    best = _better(best, self._into(route, two, last=last), most_m)
        return best

    def _along(self, one: Spot, two: Spot) -> Route | None:
        """Give the way that stays on one line."""
        if one.line != two.line:
            return None
        cost = abs(self._cost_at(two) - self._cost_at(one))
        return Route(((one.line, one.run_m, two.run_m),), cost, abs(two.run_m - one.run_m))

    def _by_nodes(self, one: Spot, most_m: float) -> Iterator[tuple[Route, int]]:
        """Yield the way from a spot to each node around, those that count least first."""
        heap = []
        for last in (False, True):
            route = _turned(self._into(Route((), 0.0, 0.0), one, last=last))
            heap.append((route.cost_m, route.length_m, self._ends[one.line][last], route.parts))
        heapq.heapify(heap)
        least: dict[int, float] = {}
        while heap:
            cost, length, node, parts = heapq.heappop(heap)
            # A way that counts more is of use only where it is shorter.
            if length > most_m or length >= least.get(node, np.inf):
                continue
            least[node] = length
            yield Route(parts, cost, length), node
            for line, onward in self._at[node]:
                size_m, whole_m = self._length[line], self._whole[line]
                step = (line, 0.0, size_m) if onward else (line, size_m, 0.0)
                to = self._ends[line][onward]
                heapq.heappush(heap, (cost + whole_m, length + size_m, to, (*parts, step)))

    def _into(self, route: Route, spot: Spot, *, last: bool) -> Route:
        """Go on from the first or last end of a line to a spot on it."""
        end_m = self._length[spot.line] if last else 0.0
        cost = self._cost_at(spot)
        return Route(
            (*route.parts, (spot.line, end_m, spot.run_m)),
            route.cost_m + (self._whole[spot.line] - cost if last else cost),
            route.length_m + abs(spot.run_m - end_m),
        )

    def _cost_at(self, spot: Spot) -> float:
        rows = slice(self._table.first[spot.line], self._table.first[spot.line + 1])
        return float(np.interp(spot.run_m, self._table.dist[rows], self._cost[rows]))

    def shape(self, route: Route) -> Floats:
        """Give the places ``(k, 2)`` along a route, its stations and both ends."""
        return np.concatenate([self._cut(*part) for part in route.parts])

    def _cut(self, line: int, from_m: float, to_m: float) -> Floats:
        rows = slice(self._table.first[line], self._table.first[line + 1])
        dist, xy = self._table.dist[rows], self._table.xyz[rows, :2]
        low, high = min(from_m, to_m), max(from_m, to_m)
        want = np.concatenate(([low], dist[(dist > low) & (dist < high)], [high]))
        cut = np.column_stack([np.interp(want, dist, xy[:, k]) for k in (0, 1)])
        return cut if from_m <= to_m else cut[::-1]


def _turned(route: Route) -> Route:
    """Give a route of one part the other way round."""
    ((line, from_m, to_m),) = route.parts
    return Route(((line, to_m, from_m),), route.cost_m, route.length_m)


def _better(best: Route | None, other: Route, most_m: float) -> Route | None:
    """Give the route that counts less, if it is not too long."""
    if other.length_m > most_m or (best is not None and best.cost_m <= other.cost_m):
        return best
    return other


def _seen(table: Stations, tree: cKDTree, points: Floats) -> Floats:
    """Count the points that speak for each station ``(n,)``."""
    far, row = tree.query(points, distance_upper_bound=ACROSS_M)
    count = np.bincount(np.asarray(row)[np.isfinite(far)], minlength=len(table))
    return window_sums(count.astype(np.float64), table.first, round(ALONG_M / STATION_M))


def _costs(table: Stations, seen: Floats) -> Floats:
    """Give what it costs to come to each station ``(n,)`` from the start of its line."""
    per_m = 1.0 + UNSEEN * np.exp(-seen)
    step = np.diff(table.dist, prepend=0.0)
    mean = (per_m + np.roll(per_m, 1)) / 2
    starts = np.zeros(len(table), dtype=bool)
    starts[table.first[:-1]] = True
    total = np.cumsum(np.where(starts, 0.0, step * mean))
    return np.asarray(total - np.repeat(total[table.first[:-1]], np.diff(table.first)))
