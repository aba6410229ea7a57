"""A drawn line matched onto a graph of lines that share end points.

A hidden-Markov matcher after Newson and Krumm (2009, doi 10.1145/1653771.1653818): the hidden
state is a place on a line and a way along it; offsets are taken as normal, and the difference
between the way along the graph and the way along the drawn line as exponential. One state stands
for "off the graph", so a line that only partly fits gives the parts that do.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from loopwright.geo import polyline
from loopwright.geo.follow_graph import LineGraph
from loopwright.geo.follow_steps import LEAVE_COST, ROUTE_M, States, StepCosts
from loopwright.geo.nearby import LineIndex
from loopwright.jobs import watched
from loopwright.model.arrays import Floats

STEP_M = 5.0
LEAST_SHARE = 0.5
"""A drawn line of which less than this share finds a place does not fit at all."""


@dataclass(frozen=True, slots=True)
class Followed:
    """A part of line ``index``: ``from_m`` < ``to_m`` along that line as it is stored.

    ``forward`` tells whether the drawn line runs along it as stored or against it.
    """

    index: int
    from_m: float
    to_m: float
    forward: bool

    @property
    def length_m(self) -> float:
        """Metres covered."""
        return self.to_m - self.from_m


def follow(lines: Sequence[Floats], line: Floats, *, within_m: float) -> tuple[Followed, ...]:
    """Match ``line`` ``(n, 2)`` onto ``lines``; all in the same metre frame.

    Returns the parts in drawn order. Where the drawn line leaves the graph by more than
    ``within_m`` nothing is given; the tuple is empty when less than half of it fits, or when it
    has fewer than two different points. Lines meet where their end points lie within 1 m.
    """
    return Follower(lines, within_m=within_m).follow(line)


class Follower:
    """A graph of lines prepared once, to match many drawn lines onto it."""

    def __init__(
        self,
        lines: Sequence[Floats],
        *,
        within_m: float,
        leave_cost: float = LEAVE_COST,
        one_way: Sequence[bool] | None = None,
    ) -> None:
        """``leave_cost`` is paid for leaving the graph; twice it for a jump within it.

        ``one_way`` tells of each line whether it is less likely followed against its direction.
        """
        self._within_m, self._leave_cost = within_m, leave_cost
        self._index = LineIndex(lines)
        self._graph = LineGraph(lines, self._index.lengths_m, reach_m=STEP_M + 3 * within_m)
        self._costs = StepCosts(
            self._graph, within_m=within_m, leave_cost=leave_cost, one_way=one_way
        )

    def follow(
        self, line: Floats, *, check: Callable[[], None] | None = None
    ) -> tuple[Followed, ...]:
        """Match one drawn line, see ``follow``; ``check`` may raise to stop the work."""
        total = polyline.length_m(line)
        if total <= 0 or not np.isfinite(total) or len(self._index.lengths_m) == 0:
            return ()
        step = min(STEP_M, max(1.0, total / 4))
        points = polyline.resample(line, step)
        check = check or _go_on
        layers = self._layers(points, check)
        best = self._best(layers, total / (len(points) - 1), check)
        jump_m = 2 * self._leave_cost * ROUTE_M
        runs = _Runs(
            self._graph,
            within_m=self._within_m,
            step_m=total / (len(points) - 1),
            jump_m=jump_m,
        )
        for before, after in watched(zip((None, *best[:-1]), best, strict=True), check):
            runs.add(before, after)
        parts = runs.parts()
        return parts if sum(p.length_m for p in parts) >= LEAST_SHARE * total else ()

    def _layers(self, points: Floats, check: Callable[[], None]) -> list[States]:
        near = self._index.near(points, within_m=self._within_m)
        turn = polyline.headings(points)
        cuts = np.searchsorted(near.point, np.arange(len(points) + 1))
        return [
            self._costs.states(near, slice(cuts[k], cuts[k + 1]), float(turn[k]))
            for k in watched(range(len(points)), check)
        ]

    def _best(
        self, layers: list[States], step_m: float, check: Callable[[], None]
    ) -> list[_Spot | None]:
        cost = layers[0].cost
        backs = []
        for before, after in watched(pairwise(layers), check):
            total = cost[:, None] + self._costs.between(before, after, step_m)
            back = total.argmin(axis=0)
            backs.append(back)
            cost = total[back, np.arange(len(back))] + after.cost
        at = int(cost.argmin())
        spots = [_spot(layers[-1], at)]
        for layer, back in zip(layers[-2::-1], backs[::-1], strict=True):
            at = int(back[at])
            spots.append(_spot(layer, at))
        return spots[::-1]


def _go_on() -> None:
    """Never stop."""


@dataclass(frozen=True, slots=True)
class _Spot:
    """A place on a line and the way along it."""

    line: int
    run_m: float
    forward: bool


def _spot(layer: States, at: int) -> _Spot | None:
    if layer.line[at] < 0:
        return None
    return _Spot(int(layer.line[at]), float(layer.run_m[at]), bool(layer.forward[at]))


class _Runs:
    """Puts matched places together into parts of lines."""

    def __init__(self, graph: LineGraph, *, within_m: float, step_m: float, jump_m: float) -> None:
        self._graph = graph
        self._jump_m = jump_m
        self._within_m = within_m
        self._step_m = step_m
        self._parts: list[tuple[int, float, float, bool]] = []
        self._joined: list[bool] = []

    def add(self, before: _Spot | None, after: _Spot | None) -> None:
        """Go from one place to the next, the same way the costs were counted."""
        if after is None:
            return
        jump = self._jump_m
        straight = jump if before is None else abs(self._ahead(before, after) - self._step_m)
        by_nodes = jump if before is None else abs(self._around(before, after) - self._step_m)
        if before is None or min(straight, by_nodes) >= jump:
            self._open(after, after.run_m, joined=False)
        elif straight <= by_nodes:
            self._move(after.run_m)
        else:
            self._pass_on(before, after)

    def _ahead(self, before: _Spot, after: _Spot) -> float:
        if (before.line, before.forward) != (after.line, after.forward):
            return np.inf
        ahead = (after.run_m - before.run_m) * (1 if after.forward else -1)
        return ahead if ahead > -2 * self._within_m else np.inf

    def _around(self, before: _Spot, after: _Spot) -> float:
        if before.line == after.line and before.forward != after.forward:
            return np.inf
        rest = abs(self._far(before.line, ahead=before.forward) - before.run_m)
        into = abs(self._far(after.line, ahead=not after.forward) - after.run_m)
        link = self._graph.link_m((before.line, before.forward), (after.line, after.forward))
        return rest + link + into

    def _pass_on(self, before: _Spot, after: _Spot) -> None:
        self._move(self._far(before.line, ahead=before.forward))
        steps = ((before.line, before.forward), (after.line, after.forward))
        for line, forward in self._graph.links(*steps):
            self._parts.append((line, 0.0, float(self._graph.lengths_m[line]), forward))
            self._joined.append(True)
        self._open(after, self._far(after.line, ahead=not after.forward), joined=True)
        self._move(after.run_m)

    def _far(self, line: int, *, ahead: bool) -> float:
        return float(self._graph.lengths_m[line]) if ahead else 0.0

    def _open(self, spot: _Spot, run_m: float, *, joined: bool) -> None:
        self._parts.append((spot.line, run_m, run_m, spot.forward))
        self._joined.append(joined)

    def _move(self, run_m: float) -> None:
        line, low, high, forward = self._parts[-1]
        self._parts[-1] = (line, min(low, run_m), max(high, run_m), forward)

    def parts(self) -> tuple[Followed, ...]:
        """Give the parts, less the stubs of a drawn line that ends beyond a junction."""
        found = [Followed(*part) for part in self._parts]
        lone = [self._lone(k) for k in range(len(found))]
        stub = [self._stub(part) for part in found]
        keep = [
            p
            for p, is_lone, is_stub in zip(found, lone, stub, strict=True)
            if p.length_m > 0 and not (is_lone and is_stub)
        ]
        return tuple(keep or [p for p in found if p.length_m > 0])

    def _lone(self, k: int) -> bool:
        """Tell whether part ``k`` hangs on its neighbours at one end at most."""
        after = k + 1 < len(self._joined) and self._joined[k + 1]
        return not (self._joined[k] and after)

    def _stub(self, part: Followed) -> bool:
        whole = part.length_m > 0.8 * self._graph.lengths_m[part.index]
        return part.length_m < self._within_m and not whole
