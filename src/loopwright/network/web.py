"""A graph of lines that can be mended.

Gets lines and the nodes they run between; gives operations that keep it a graph: merge, drop,
join. Promises: a line's first and last vertex are always its nodes' positions.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import TypeAlias

import numpy as np

from loopwright.geo.polyline import along, length_m, nearest_vertex
from loopwright.model.arrays import Floats
from loopwright.model.ids import Ways
from loopwright.network.passes import Over

End: TypeAlias = tuple[int, bool]
"""A line's number, and whether its last end is meant."""


LINK_M = 20.0
"""Two junctions closer than this are one, unless rides are known to err little."""


@dataclass(slots=True, eq=False)
class Line:
    """One edge: nodes ``a`` and ``b``; ``xyz`` ``(n, 3)`` metres, height NaN where unknown.

    ``passes`` counts independent passes while mending, ``rides`` the passes of all rides that went
    by; ``error_m`` tells how far they err and ``worse`` how many times more than usual; ``parted``
    that its passes were told from those of a line beside it; ``turned`` that one ride alone went
    along it and turned back at its end; ``error`` ``(n,)`` and ``overs`` are known once the line is
    fitted; ``ways``, ``name`` and ``unridden`` are what a person said.
    """

    a: int
    b: int
    xyz: Floats
    passes: float = 0.0
    rides: float = 0.0
    worse: float = 1.0
    error_m: float = 3.0
    parted: bool = False
    turned: bool = False
    error: Floats | None = None
    overs: tuple[Over, ...] = ()
    ways: Ways = Ways.BOTH
    name: str = ""
    unridden: bool = False

    @property
    def said(self) -> tuple[object, ...]:
        """What a person said of it, as seen from nowhere in particular."""
        way = self.ways if self.ways in {Ways.BOTH, Ways.CLOSED} else self
        return (way, self.name, self.unridden)

    @property
    def length_m(self) -> float:
        """Length on the ground plan."""
        return length_m(self.xyz[:, :2])

    def seen_from(self, node: int) -> Floats:
        """Vertices starting at ``node``."""
        return self.xyz if self.a == node else self.xyz[::-1]


@dataclass(slots=True, eq=False)
class Web:
    """Nodes (``(3,)`` metres) and lines by number.

    Junctions nearer to each other than ``link_m`` are taken for one.
    """

    nodes: dict[int, Floats] = field(default_factory=dict)
    lines: dict[int, Line] = field(default_factory=dict)
    at: dict[int, set[int]] = field(default_factory=dict)
    next_line: int = 0
    link_m: float = LINK_M

    def add_node(self, node: int, place: Floats) -> None:
        """Put a node down."""
        self.nodes[node] = np.asarray(place, dtype=np.float64)
        self.at.setdefault(node, set())

    def add_line(self, a: int, b: int, xyz: Floats, passes: float = 0.0) -> int:
        """Run a line between two nodes that are there; gives its number."""
        number = self.next_line
        self.next_line += 1
        self.lines[number] = Line(a, b, xyz, passes)
        self.at[a].add(number)
        self.at[b].add(number)
        return number

    def drop_line(self, number: int) -> None:
        """Take a line away, and nodes left bare."""
        line = self.lines.pop(number)
        for node in {line.a, line.b}:
            self.at[node].discard(number)
            if not self.at[node]:
                del self.at[node], self.nodes[node]

    def unhook(self, number: int) -> None:
        """Take a line away, leaving its nodes."""
        line = self.lines.pop(number)
        self.at[line.a].discard(number)
        self.at[line.b].discard(number)

    def degree(self, node: int) -> int:
        """Count line ends at a node; a loop counts twice."""
        return sum((self.lines[k].a == node) + (self.lines[k].b == node) for k in self.at[node])

    def loose(self, number: int) -> bool:
        """Tell whether a line ends in nothing."""
        line = self.lines[number]
        return 1 in {self.degree(line.a), self.degree(line.b)}

    def weakest_first(self) -> list[int]:
        """Give all lines, those of fewest passes first, of these the shortest."""
        return sorted(self.lines, key=lambda k: (self.lines[k].passes, self.lines[k].length_m, k))

    def move_node(self, node: int, place: Floats) -> None:
        """Move a node and the ends of its lines."""
        self.nodes[node] = place
        for number in self.at[node]:
            line = self.lines[number]
            xyz = line.xyz.copy()
            if line.a == node:
                xyz[0] = place
            if line.b == node:
                xyz[-1] = place
            line.xyz = xyz

    def merge_nodes(self, keep: int, gone: int) -> None:
        """Let every line of ``gone`` end at ``keep``."""
        for number in sorted(self.at[gone]):
            line = self.lines[number]
            xyz = line.xyz.copy()
            if line.a == gone:
                line.a, xyz[0] = keep, self.nodes[keep]
            if line.b == gone:
                line.b, xyz[-1] = keep, self.nodes[keep]
            line.xyz = xyz
            self.at[keep].add(number)
        del self.at[gone], self.nodes[gone]

    def contract(self, number: int) -> None:
        """Make one node of a line's two, in the middle between them."""
        line = self.lines[number]
        a, b, middle = line.a, line.b, (self.nodes[line.a] + self.nodes[line.b]) / 2
        self.unhook(number)
        self.merge_nodes(a, b)
        self.move_node(a, middle)

    def split_line(self, number: int, vertex: int, node: int) -> tuple[int, int]:
        """Part a line at one of its inner vertices, which becomes ``node``."""
        line = self.lines[number]
        self.add_node(node, line.xyz[vertex])
        run = along(line.xyz[:, :2])
        share = float(run[vertex] / max(run[-1], 1e-9))
        first = self.add_line(line.a, node, line.xyz[: vertex + 1], line.passes)
        second = self.add_line(node, line.b, line.xyz[vertex:], line.passes)
        for new, rows, low, high in (
            (first, slice(0, vertex + 1), 0.0, share), (second, slice(vertex, None), share, 1.0),
        ):  # fmt: skip
            part = self.lines[new]
            part.error = None if line.error is None else line.error[rows]
            part.overs = tuple(one.clipped(low, high) for one in line.overs)
            part.ways, part.name, part.unridden = line.ways, line.name, line.unridden
        self.drop_line(number)
        return first, second

    def detach(self, number: int, node: int, other: int) -> None:
        """Let a line end at a new node ``other``, at the same place as ``node``."""
        line = self.lines[number]
        self.add_node(other, self.nodes[node])
        line.a = other if line.a == node else line.a
        line.b = other if line.b == node else line.b
        self.at[other].add(number)
        self.at[node].discard(number)

    def nearest(self, place: Floats, numbers: Iterable[int]) -> list[tuple[float, int, int]]:
        """Metres from ``place`` to each of some lines, its number and its vertex there, sorted."""
        gaps = ((number, nearest_vertex(self.lines[number].xyz, place)) for number in numbers)
        return sorted((gap_m, number, vertex) for number, (gap_m, vertex) in gaps)

    def node_at(self, number: int, vertex: int) -> int:
        """Give the node at a vertex of a line, splitting the line inside."""
        line = self.lines[number]
        if vertex == 0:
            return line.a
        if vertex == len(line.xyz) - 1:
            return line.b
        node = self.new_node()
        self.split_line(number, vertex, node)
        return node

    def node_of(self, end: End) -> int:
        """Give the node at a line's end."""
        line = self.lines[end[0]]
        return line.b if end[1] else line.a

    def beyond(self, end: End) -> int:
        """Give the node at a line's other end."""
        return self.node_of((end[0], not end[1]))

    def from_end(self, end: End) -> Floats:
        """Vertices starting at a line's end."""
        xyz = self.lines[end[0]].xyz
        return xyz[::-1] if end[1] else xyz

    def hangs_on(self, end: End, node: int) -> bool:
        """Tell whether a line is still there and has this end at a node."""
        return end[0] in self.lines and self.node_of(end) == node

    def ends_at(self, node: int) -> list[End]:
        """Give the line ends at a node; a loop has two."""
        ends = [(number, last) for number in sorted(self.at[node]) for last in (False, True)]
        return [end for end in ends if self.node_of(end) == node]

    def rehang(self, end: End, node: int) -> None:
        """Let one end of a line hang on another node at the same place."""
        line, old = self.lines[end[0]], self.node_of(end)
        line.a, line.b = (line.a, node) if end[1] else (node, line.b)
        if old not in {line.a, line.b}:
            self.at[old].discard(end[0])
        self.at[node].add(end[0])

    def tidy(self) -> None:
        """Join finished lines of one kind where nothing branches any more."""
        for node in sorted(self.nodes):
            numbers = sorted(self.at.get(node, ()))
            if len(numbers) == 2 and self.degree(node) == 2:
                one, two = (self.lines[k] for k in numbers)
                if one.said == two.said:
                    self.join_at(node)

    def join_at(self, node: int) -> int | None:
        """Dissolve a node where exactly two different lines meet; gives the joined line."""
        numbers = sorted(self.at[node])
        if len(numbers) != 2 or self.degree(node) != 2:
            return None
        one, two = (self.lines[k] for k in numbers)
        first, second = one.seen_from(node)[::-1], two.seen_from(node)
        a = one.b if one.a == node else one.a
        b = two.b if two.a == node else two.a
        passes = max(one.passes, two.passes)
        new = self.add_line(a, b, np.vstack((first, second[1:])), passes)
        joined = self.lines[new]
        joined.unridden, joined.name, joined.ways = one.unridden, one.name, one.ways
        if one.error is not None and two.error is not None:
            turned, onward = one.a == node, two.a == node
            ahead = one.error[::-1] if turned else one.error
            after = two.error if onward else two.error[::-1]
            joined.error = np.concatenate((ahead, after[1:]))
            joined.overs = _over_both(
                _way_round(one.overs, turned=turned), _way_round(two.overs, turned=not onward)
            )
        for number in numbers:
            self.drop_line(number)
        return new

    def new_node(self) -> int:
        """Give a number no node has."""
        return max(self.nodes, default=-1) + 1


def _way_round(overs: tuple[Over, ...], *, turned: bool) -> tuple[Over, ...]:
    return tuple(over.turned() for over in overs) if turned else overs


def _over_both(ahead: tuple[Over, ...], after: tuple[Over, ...]) -> tuple[Over, ...]:
    """Join passes that run on from one line into the next; others covered one line only."""
    joined = []
    for one in ahead:
        for two in after:
            if one.runs_into(two):
                joined.append(one.with_end(two))
            elif two.runs_into(one):
                joined.append(two.with_end(one))
    return tuple(joined)
