"""What it costs a match to be somewhere and to go from one place to the next.

Costs are negative log likelihoods up to a constant, so they add.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from loopwright.geo.follow_graph import LineGraph
from loopwright.geo.nearby import Places
from loopwright.model.arrays import Floats, Ints

HEADING_COST = 4.0
"""Twice this is paid for riding dead against the drawn direction."""
AGAINST_COST = 1.0
"""For each place on a one-way line, followed against it: what 1.4 errors off it cost."""
TURN_BACK_COST = 8.0
LEAVE_COST = 6.0
"""For leaving the graph, for coming back to it, and for a jump within it."""
ROUTE_M = 2.5
"""Mean difference between the way along the graph and along the drawn line, per step."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class States:
    """Places a sample may be at, all ``(k,)``; the last has ``line`` -1: off the graph."""

    line: Ints
    run_m: Floats
    forward: Ints
    cost: Floats


class StepCosts:
    """Costs on one graph, for a drawn line that keeps within ``within_m``."""

    def __init__(
        self,
        graph: LineGraph,
        *,
        within_m: float,
        leave_cost: float = LEAVE_COST,
        one_way: Sequence[bool] | None = None,
    ) -> None:
        self._graph = graph
        self._against = AGAINST_COST * np.array(one_way or np.zeros(len(graph.lengths_m)))
        self._leave_cost = leave_cost
        self._within_m = within_m
        self._sigma_m = within_m / 3

    def states(self, near: Places, part: slice, heading: float) -> States:
        """Both ways along every place in ``part``, and the state off the graph."""
        turn = np.cos(near.heading[part] - heading)
        off = 0.5 * (near.off_m[part] / self._sigma_m) ** 2
        line, run, count = near.line[part], near.run_m[part], len(turn)
        ahead = off + HEADING_COST * (1 - turn)
        against = off + HEADING_COST * (1 + turn) + self._against[line]
        # Off the graph costs what a place at the very limit would.
        leave = 0.5 * (self._within_m / self._sigma_m) ** 2
        return States(
            line=np.concatenate((line, line, [-1])),
            run_m=np.concatenate((run, run, [0.0])),
            forward=np.repeat([1, 0, 1], [count, count, 1]),
            cost=np.concatenate((ahead, against, [leave])),
        )

    def between(self, before: States, after: States, step_m: float) -> Floats:
        """Cost ``(before, after)`` of going on by about ``step_m`` metres."""
        same = before.line[:, None] == after.line[None, :]
        alike = before.forward[:, None] == after.forward[None, :]
        sign = np.where(after.forward, 1.0, -1.0)[None, :]
        ahead = (after.run_m[None, :] - before.run_m[:, None]) * sign
        straight = np.where(same & alike & (ahead > -2 * self._within_m), ahead, np.inf)
        round_by = self._by_nodes(before, after) + np.where(same & ~alike, np.inf, 0.0)
        route = np.minimum(np.abs(straight - step_m), np.abs(round_by - step_m)) / ROUTE_M
        back = np.where(same & ~alike, TURN_BACK_COST + np.abs(ahead) / ROUTE_M, np.inf)
        cost = np.minimum(np.minimum(route, back), 2 * self._leave_cost)
        cost[-1, :], cost[:, -1], cost[-1, -1] = self._leave_cost, self._leave_cost, 0.0
        return cost

    def _by_nodes(self, before: States, after: States) -> Floats:
        graph = self._graph
        rest = np.where(before.forward, graph.lengths_m[before.line] - before.run_m, before.run_m)
        into = np.where(after.forward, after.run_m, graph.lengths_m[after.line] - after.run_m)
        leave = graph.entry(before.line, 1 - before.forward)
        enter = graph.entry(after.line, after.forward)
        return rest[:, None] + graph.node_m[leave[:, None], enter[None, :]] + into[None, :]
