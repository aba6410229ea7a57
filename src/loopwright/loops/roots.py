"""In which order junctions serve as roots.

Gets the graph's ends; gives roots in order. Promises: every loop passes some root, and is found
below the first root of the order that it passes.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterator

from loopwright.loops.shapes import Graph


def root_order(graph: Graph, start: int) -> tuple[int, ...]:
    """Junctions that cut every loop, busiest first, dead ends trimmed in between.

    A wished start, or an end of a stretch that must be ridden, is the only root needed.
    """
    if start >= 0:
        return (start,)
    wanted = [int(t) for t, m in zip(graph.tail, graph.must, strict=True) if m >= 0]
    if wanted:
        return (wanted[0],)
    return tuple(_peel(_neighbours(graph)))


def _neighbours(graph: Graph) -> dict[int, dict[int, set[int]]]:
    """For each junction its stretches' far ends: junction -> stretch -> far ends.

    A ring stands in its own junction's row; it counts two ends there and is never a dead end.
    """
    near: dict[int, dict[int, set[int]]] = {}
    for s, t, h in zip(
        graph.stretch.tolist(), graph.tail.tolist(), graph.head.tolist(), strict=True
    ):
        near.setdefault(t, {}).setdefault(s, set()).add(h)
        near.setdefault(h, {}).setdefault(s, set()).add(t)
    return near


def _degree(near: dict[int, dict[int, set[int]]], junction: int) -> int:
    return sum(2 if junction in far else 1 for far in near[junction].values())


def _drop(near: dict[int, dict[int, set[int]]], junction: int) -> set[int]:
    """Delete a junction and its stretches; give the junctions that lost one."""
    touched = set()
    for stretch, far in near.pop(junction).items():
        for other in far:
            if other != junction:
                near[other].pop(stretch, None)
                touched.add(other)
    return touched


def _peel(near: dict[int, dict[int, set[int]]]) -> Iterator[int]:
    heap = [(-_degree(near, j), j) for j in near]
    heapq.heapify(heap)
    loose = [j for j in sorted(near) if _degree(near, j) <= 1]
    while near:
        while loose:
            junction = loose.pop()
            if junction in near:
                loose.extend(_lowered(near, _drop(near, junction), heap))
        while heap and (heap[0][1] not in near or -heap[0][0] != _degree(near, heap[0][1])):
            heapq.heappop(heap)
        if not heap:
            return
        root = heapq.heappop(heap)[1]
        yield root
        loose.extend(_lowered(near, _drop(near, root), heap))


def _lowered(
    near: dict[int, dict[int, set[int]]], touched: set[int], heap: list[tuple[int, int]]
) -> list[int]:
    """Put junctions that lost a stretch back on the heap; give those that became dead ends."""
    for junction in touched:
        heapq.heappush(heap, (-_degree(near, junction), junction))
    return sorted(j for j in touched if _degree(near, j) <= 1)
