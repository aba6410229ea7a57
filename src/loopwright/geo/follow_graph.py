"""The graph of lines that a drawn line is matched onto.

Gets lines that share end points; gives how far it is from line to line and by way of which.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components, dijkstra
from scipy.spatial import cKDTree

from loopwright.model.arrays import Floats, Ints

JOIN_M = 1.0
"""End points closer than this are one node."""


class LineGraph:
    """Nodes at the lines' ends and the shortest ways between nodes up to ``reach_m``."""

    def __init__(self, lines: Sequence[Floats], lengths_m: Floats, *, reach_m: float) -> None:
        self.lengths_m = lengths_m
        self.start, self.end = _nodes(lines)
        count = int(max(self.start.max(initial=-1), self.end.max(initial=-1))) + 1
        self._via = self._edges()
        size = [lengths_m[line] for line, _ in self._via.values()]
        pairs = np.array(list(self._via), dtype=np.int64).reshape(-1, 2)
        edges = coo_array((np.maximum(size, 1e-9), (pairs[:, 0], pairs[:, 1])), (count, count))
        self.node_m, self._back = dijkstra(edges.tocsr(), limit=reach_m, return_predecessors=True)

    def _edges(self) -> dict[tuple[int, int], tuple[int, bool]]:
        """Find the shortest line from node to node and whether it is followed as stored."""
        found: dict[tuple[int, int], tuple[int, bool]] = {}
        for line in np.argsort(-self.lengths_m, kind="stable"):
            a, b = int(self.start[line]), int(self.end[line])
            if a != b:
                found[a, b] = (int(line), True)
                found[b, a] = (int(line), False)
        return found

    def entry(self, line: Ints, forward: Ints) -> Ints:
        """Node where ``line`` begins when followed ``forward``; all ``(k,)``."""
        return np.where(forward, self.start[line], self.end[line])

    def link_m(self, before: tuple[int, bool], after: tuple[int, bool]) -> float:
        """Metres from the end of one followed line to the beginning of another; inf if far."""
        return float(self.node_m[self._gap(before, after)])

    def _gap(self, before: tuple[int, bool], after: tuple[int, bool]) -> tuple[int, int]:
        leave = self.end if before[1] else self.start
        enter = self.start if after[1] else self.end
        return int(leave[before[0]]), int(enter[after[0]])

    def links(self, before: tuple[int, bool], after: tuple[int, bool]) -> list[tuple[int, bool]]:
        """Whole lines passed between two followed lines within reach, in order."""
        at, goal = self._gap(before, after)
        nodes = [goal]
        while nodes[-1] != at:
            nodes.append(int(self._back[at, nodes[-1]]))
        nodes.reverse()
        return [self._via[pair] for pair in pairwise(nodes)]


def _nodes(lines: Sequence[Floats]) -> tuple[Ints, Ints]:
    """Give ends within reach of each other one node number."""
    if not lines:
        return np.zeros(0, dtype=np.int32), np.zeros(0, dtype=np.int32)
    ends = np.concatenate([[line[0] for line in lines], [line[-1] for line in lines]])
    pairs = cKDTree(ends).query_pairs(JOIN_M, output_type="ndarray")
    ones = np.ones(len(pairs))
    near = coo_array((ones, (pairs[:, 0], pairs[:, 1])), (len(ends), len(ends)))
    label = connected_components(near, directed=False)[1]
    return label[: len(lines)].astype(np.int32), label[len(lines) :].astype(np.int32)
