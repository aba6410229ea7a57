"""A good first loop without compiled code, for the first search after a fresh install.

Gets a sheet; gives the best loop that a wide, shallow search from a few roots meets. Promises: the
loop is legal; nothing is promised of how good it is, but it comes within a second.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from loopwright.loops.graph import FULL, Sheet
from loopwright.loops.roots import root_order
from loopwright.loops.shapes import Counts, Flags, Graph, Reals

WIDTH = 250
"""Paths kept at each depth."""
ROOTS = 12
DEPTHS = 60
FAIR_SHARE = 0.85
"""Part of all points that a lap of the greatest length should have gathered: paths are compared
by what they have above this pace."""


@dataclass(frozen=True, slots=True)
class Beam:
    """Paths of equal depth: ``arcs`` (p, depth), ``ridden`` (p, S), ``length`` (p,), ``worth``."""

    arcs: Counts
    ridden: Flags
    length: Reals
    worth: Reals


def quick_loops(sheet: Sheet, tick: Callable[[], None]) -> Iterator[tuple[int, ...]]:
    """Give better and better loops, as arcs by their number in the graph."""
    graph = sheet.graph
    padded = padded_links(graph)
    order = root_order(graph, sheet.start)
    count, tries = len(order), min(ROOTS, len(order))
    best = -np.inf
    for root in (order[k * count // tries] for k in range(tries)):
        for score, arcs in from_root(sheet, padded, root):
            tick()
            if score > best and at_peace(graph, arcs):
                best = score
                yield arcs


def at_peace(graph: Graph, arcs: tuple[int, ...]) -> bool:
    """Tell whether no two arcs are foes."""
    foes = {int(b) for a in arcs for b in graph.foe[graph.foe_first[a] : graph.foe_first[a + 1]]}
    return foes.isdisjoint(arcs)


def padded_links(graph: Graph) -> Counts:
    """Give each arc's links side by side: (A, D) numbers, -1 where it has fewer."""
    counts = np.diff(graph.first)
    columns = np.arange(int(counts.max(initial=1)))
    return np.where(columns < counts[:, None], graph.first[:-1, None] + columns, -1).astype(
        np.int32
    )


def led_to(graph: Graph, links: Counts) -> Counts:
    """Name the arc each link leads to, -1 where there is no link."""
    return np.append(graph.succ, np.int32(-1))[links]


def ways_home(graph: Graph, padded: Counts, root: int) -> Reals:
    """Measure (A,) metres of the shortest way to the root after each arc."""
    home = np.where(graph.head == root, 0.0, np.inf)
    following = led_to(graph, padded)
    while True:
        step = np.where(following >= 0, graph.length[following] + home[following], np.inf)
        lower = np.minimum(home, step.min(axis=1))
        if np.array_equal(lower, home):
            return home
        home = lower


def from_root(sheet: Sheet, padded: Counts, root: int) -> Iterator[tuple[float, tuple[int, ...]]]:
    """Give the best loop of each depth below one root, with its score."""
    graph = sheet.graph
    home = ways_home(graph, padded, root)
    leaving = (graph.tail == root) & (graph.length + home <= sheet.rule.cap)
    beam = first_arcs(graph, np.flatnonzero(leaving).astype(np.int32))
    for _ in range(DEPTHS):
        found = best_closed(sheet, padded, beam)
        if found is not None:
            yield found
        beam = wider(sheet, padded, beam, home)
        if len(beam.length) == 0:
            return


def first_arcs(graph: Graph, arcs: Counts) -> Beam:
    """Begin a beam with the arcs that leave the root."""
    ridden = np.zeros((len(arcs), int(graph.stretch.max()) + 1), np.bool_)
    ridden[np.arange(len(arcs)), graph.stretch[arcs]] = True
    return Beam(arcs.reshape(-1, 1), ridden, graph.length[arcs], graph.worth[arcs])


def wider(sheet: Sheet, padded: Counts, beam: Beam, home: Reals) -> Beam:
    """Ride every path one arc on and keep the ``WIDTH`` that are most above a fair pace."""
    graph, rule = sheet.graph, sheet.rule
    row, column = np.nonzero(padded[beam.arcs[:, -1]] >= 0)
    link = padded[beam.arcs[row, -1], column]
    arc = graph.succ[link]
    length = beam.length[row] + graph.length[arc]
    keep = ~beam.ridden[row, graph.stretch[arc]] & (length + home[arc] <= rule.cap)
    row, link, arc, length = row[keep], link[keep], arc[keep], length[keep]
    worth = beam.worth[row] + graph.worth[arc] + graph.link_worth[link]
    points = np.minimum(worth, rule.most).sum(axis=1)
    ahead = points - FAIR_SHARE * FULL * (length + 0.5 * home[arc]) / rule.cap
    top = np.argsort(-ahead, kind="stable")[:WIDTH]
    row, arc = row[top], arc[top]
    ridden = beam.ridden[row]
    ridden[np.arange(len(row)), graph.stretch[arc]] = True
    arcs = np.column_stack((beam.arcs[row], arc)).astype(np.int32)
    return Beam(arcs, ridden, length[top], worth[top])


def best_closed(sheet: Sheet, padded: Counts, beam: Beam) -> tuple[float, tuple[int, ...]] | None:
    """Give the best loop among paths that close now, with its score."""
    graph, rule = sheet.graph, sheet.rule
    links = padded[beam.arcs[:, -1]]
    row, column = np.nonzero(led_to(graph, links) == beam.arcs[:, :1])
    long_enough = graph.load[beam.arcs[row], 0].sum(axis=1) <= rule.room[0]
    musts = (graph.must[beam.arcs[row]] >= 0).sum(axis=1) >= rule.musts
    row, column = row[long_enough & musts], column[long_enough & musts]
    if len(row) == 0:
        return None
    worth = beam.worth[row] + graph.link_worth[links[row, column]]
    score = np.minimum(worth, rule.most).sum(axis=1) - rule.price * beam.length[row]
    best = int(score.argmax())
    return float(score[best]), tuple(beam.arcs[row[best]].tolist())
