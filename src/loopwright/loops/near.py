# ruff: noqa: PLR0917 - compiled functions take positional arguments only
"""Kernels that cut out of the graph what loops through one root can use.

Get a graph, which junctions are still alive, a root and a longest lap; give a ``Local``.
Promise: every loop that begins at the root, keeps to live junctions and is no longer than the lap
is a path in it.
"""

from __future__ import annotations

import numpy as np

from loopwright.loops.compiled import compiled
from loopwright.loops.shapes import Counts, Flags, Graph, Local, Reals


@compiled
def usable_arcs(graph: Graph, alive: Flags) -> Flags:
    """Tell (A,) whether both ends of the arc are alive."""
    usable = np.empty(graph.tail.size, np.bool_)
    for a in range(usable.size):
        usable[a] = alive[graph.tail[a]] and alive[graph.head[a]]
    return usable


@compiled
def spread(
    begin: Counts, nexts: Counts, cost: Reals, usable: Flags, dist: Reals, start: Counts, cap: float
) -> None:
    """Lower ``dist`` (A,) to shortest walks from the arcs in ``start``.

    ``cost[b]`` is added on stepping to b; nothing beyond ``cap`` is followed.
    """
    queue = np.empty(usable.size + 1, np.int32)
    waiting = np.zeros(usable.size, np.bool_)
    size = queue.size
    first, count = 0, 0
    for a in start:
        queue[count] = a
        waiting[a] = True
        count += 1
    while count > 0:
        a = queue[first]
        first = (first + 1) % size
        count -= 1
        waiting[a] = False
        for e in range(begin[a], begin[a + 1]):
            b = nexts[e]
            far = dist[a] + cost[b]
            if usable[b] and far < dist[b] and far <= cap:
                dist[b] = far
                if not waiting[b]:
                    waiting[b] = True
                    queue[(first + count) % size] = b
                    count += 1


@compiled
def ways_out(graph: Graph, usable: Flags, root: int, cap: float) -> Reals:
    """Give (A,) metres of the shortest walk from the root whose last arc is this one."""
    out = np.empty(usable.size)
    out[:] = np.inf
    starts = np.empty(usable.size, np.int32)
    count = 0
    for a in range(usable.size):
        if usable[a] and graph.tail[a] == root and graph.length[a] <= cap:
            out[a] = graph.length[a]
            starts[count] = a
            count += 1
    spread(graph.first, graph.succ, graph.length, usable, out, starts[:count], cap)
    return out


@compiled
def ways_home(graph: Graph, usable: Flags, root: int, cap: float) -> Reals:
    """Give (A,) metres of the shortest walk after the arc that reaches the root."""
    size = usable.size
    whole = np.empty(size)
    whole[:] = np.inf
    ends = np.empty(size, np.int32)
    count = 0
    for a in range(size):
        if usable[a] and graph.head[a] == root and graph.length[a] <= cap:
            whole[a] = graph.length[a]
            ends[count] = a
            count += 1
    spread(graph.pred_first, graph.pred, graph.length, usable, whole, ends[:count], cap)
    for a in range(size):
        whole[a] -= graph.length[a]
    return whole


@compiled
def chosen_arcs(graph: Graph, out: Reals, home: Reals, root: int, cap: float) -> tuple[Counts, int]:
    """Arcs on some way out and home within ``cap``, those leaving the root first."""
    arcs = np.empty(out.size, np.int32)
    count = 0
    for leaving in (True, False):
        for a in range(out.size):
            if (graph.tail[a] == root) == leaving and out[a] + home[a] <= cap:
                arcs[count] = a
                count += 1
        if leaving:
            starts = count
    return arcs[:count], starts


@compiled
def inner_links(
    graph: Graph, arcs: Counts, place: Counts, out: Reals, home: Reals, cap: float
) -> tuple[Counts, Counts, Counts]:
    """Links that still fit: where each arc's begin, what follows, and their number in the graph."""
    first = np.zeros(arcs.size + 1, np.int32)
    total = 0
    for a in arcs:
        total += graph.first[a + 1] - graph.first[a]
    succ = np.empty(total, np.int32)
    link = np.empty(total, np.int32)
    count = 0
    for i in range(arcs.size):
        a = arcs[i]
        for e in range(graph.first[a], graph.first[a + 1]):
            b = graph.succ[e]
            if place[b] >= 0 and out[a] + graph.length[b] + home[b] <= cap:
                succ[count] = place[b]
                link[count] = e
                count += 1
        first[i + 1] = count
    return first, succ[:count], link[:count]


@compiled
def closing_links(
    graph: Graph, arcs: Counts, place: Counts, root: int
) -> tuple[Counts, Counts, Counts]:
    """Links over the root, whether or not another round would fit."""
    first = np.zeros(arcs.size + 1, np.int32)
    succ = np.empty(graph.succ.size, np.int32)
    link = np.empty(graph.succ.size, np.int32)
    count = 0
    for i in range(arcs.size):
        a = arcs[i]
        if graph.head[a] == root:
            for e in range(graph.first[a], graph.first[a + 1]):
                if place[graph.succ[e]] >= 0:
                    succ[count] = place[graph.succ[e]]
                    link[count] = e
                    count += 1
        first[i + 1] = count
    return first, succ[:count], link[:count]


@compiled
def renumbered(graph: Graph, arcs: Counts, place: Counts) -> tuple[Counts, int, Counts]:
    """Local stretch numbers, how many there are, and local twins."""
    number = np.empty(graph.tail.size, np.int32)
    number[:] = -1
    stretch = np.empty(arcs.size, np.int32)
    twin = np.empty(arcs.size, np.int32)
    count = 0
    for i in range(arcs.size):
        s = graph.stretch[arcs[i]]
        if number[s] < 0:
            number[s] = count
            count += 1
        stretch[i] = number[s]
        other = graph.twin[arcs[i]]
        twin[i] = place[other] if other >= 0 else -1
    return stretch, count, twin


@compiled
def gates(graph: Graph, arcs: Counts, twin: Counts) -> tuple[Counts, Counts]:
    """Junctions that a lap passes less often than half their ends: each arc's, and their limits.

    Each passage takes two ends of stretches, and each end is ridden once: where three ways meet
    a lap passes once, though each of its stretches may be ridden. One-way arcs may leave less.
    """
    size = max(graph.tail.max(), graph.head.max()) + 1
    come, leave, ends = np.zeros(size, np.int32), np.zeros(size, np.int32), np.zeros(size, np.int32)
    for i in range(arcs.size):
        come[graph.head[arcs[i]]] += 1
        leave[graph.tail[arcs[i]]] += 1
        ends[graph.head[arcs[i]]] += 1
        if twin[i] < 0:
            ends[graph.tail[arcs[i]]] += 1
    limit, number = np.empty(size, np.int32), np.empty(size, np.int32)
    count = 0
    for j in range(size):
        most = min(ends[j] // 2, come[j], leave[j])
        number[j] = -1
        if 2 * most < ends[j]:
            number[j] = count
            limit[count] = most
            count += 1
    gate = np.empty(arcs.size, np.int32)
    for i in range(arcs.size):
        gate[i] = number[graph.head[arcs[i]]]
    return gate, limit[:count]


@compiled
def local_foes(graph: Graph, arcs: Counts, place: Counts) -> tuple[Counts, Counts]:
    """Where each arc's foes begin, and which they are."""
    first = np.zeros(arcs.size + 1, np.int32)
    foe = np.empty(graph.foe.size, np.int32)
    count = 0
    for i in range(arcs.size):
        for e in range(graph.foe_first[arcs[i]], graph.foe_first[arcs[i] + 1]):
            if place[graph.foe[e]] >= 0:
                foe[count] = place[graph.foe[e]]
                count += 1
        first[i + 1] = count
    return first, foe[:count]


@compiled
def ways_via(
    first: Counts, succ: Counts, length: Reals, home: Reals, must: Counts, musts: int
) -> Reals:
    """(M, n) shortest ways to the root through each must stretch, after the arc."""
    via = np.empty((musts, length.size))
    via[:, :] = np.inf
    for m in range(musts):
        changed = True
        while changed:
            changed = False
            for a in range(length.size):
                for e in range(first[a], first[a + 1]):
                    b = succ[e]
                    far = length[b] + (home[b] if must[b] == m else via[m, b])
                    if far < via[m, a]:
                        via[m, a] = far
                        changed = True
    return via


@compiled
def picked(values: Reals, which: Counts) -> Reals:
    """Values at ``which``."""
    out = np.empty(which.size)
    for i in range(which.size):
        out[i] = values[which[i]]
    return out


@compiled
def picked_rows(values: Reals, which: Counts) -> Reals:
    """Rows at ``which``."""
    out = np.empty((which.size, values.shape[1]))
    for i in range(which.size):
        for k in range(values.shape[1]):
            out[i, k] = values[which[i], k]
    return out


@compiled
def localise(graph: Graph, alive: Flags, root: int, cap: float, musts: int) -> Local:
    """Cut out what loops through ``root`` no longer than ``cap`` metres can use."""
    usable = usable_arcs(graph, alive)
    out = ways_out(graph, usable, root, cap)
    home = ways_home(graph, usable, root, cap)
    arcs, starts = chosen_arcs(graph, out, home, root, cap)
    place = np.empty(graph.tail.size, np.int32)
    place[:] = -1
    for i in range(arcs.size):
        place[arcs[i]] = i
    first, succ, link = inner_links(graph, arcs, place, out, home, cap)
    close_first, close_arc, close = closing_links(graph, arcs, place, root)
    foe_first, foe = local_foes(graph, arcs, place)
    stretch, stretches, twin = renumbered(graph, arcs, place)
    gate, limit = gates(graph, arcs, twin)
    length, near = picked(graph.length, arcs), picked(home, arcs)
    must = np.empty(arcs.size, np.int32)
    for i in range(arcs.size):
        must[i] = graph.must[arcs[i]]
    via = ways_via(first, succ, length, near, must, musts)
    return Local(
        arcs, starts, stretch, stretches, gate, limit, length, picked(out, arcs), near,
        picked_rows(graph.worth, arcs), picked_rows(graph.load, arcs), twin, must, first, succ,
        picked_rows(graph.link_worth, link), close_first, close_arc,
        picked_rows(graph.link_worth, close), foe_first, foe, via,
    )  # fmt: skip
