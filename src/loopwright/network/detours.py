"""Find the way round a line.

Gets a web and one of its lines; gives the other lines by which its ends are joined.
"""

from __future__ import annotations

import heapq

from loopwright.network.web import Web


def way_round(web: Web, number: int, most_m: float) -> list[int] | None:
    """Give the shortest way between a line's ends without it, from its end ``b`` to ``a``.

    None where there is none of at most ``most_m``; empty for a ring.
    """
    goal, start = web.lines[number].a, web.lines[number].b
    if most_m < 0:
        return None
    best: dict[int, float] = {start: 0.0}
    by: dict[int, tuple[int, int]] = {}
    heap = [(0.0, start)]
    while heap:
        run_m, node = heapq.heappop(heap)
        if node == goal:
            return _steps(by, start, goal)
        if run_m > best[node]:
            continue
        for other in sorted(web.at[node] - {number}):
            line = web.lines[other]
            to, far_m = line.b if line.a == node else line.a, run_m + line.length_m
            if far_m <= most_m and far_m < best.get(to, float("inf")):
                best[to], by[to] = far_m, (other, node)
                heapq.heappush(heap, (far_m, to))
    return None


def _steps(by: dict[int, tuple[int, int]], start: int, node: int) -> list[int]:
    steps = []
    while node != start:
        number, node = by[node]
        steps.append(number)
    return steps[::-1]
