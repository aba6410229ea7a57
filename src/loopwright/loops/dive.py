# ruff: noqa: PLR0917 - compiled functions take positional arguments only
"""Kernel of the depth-first search below one root.

Gets a local graph, its tables and a path with open branches; rides on until nothing is open, the
node budget is used. Promise: no loop better than the best found by more
than ``gap`` is ever cut off, and what is still open stays in the path, with its bounds.
"""

from __future__ import annotations

import numpy as np

from loopwright.loops.compiled import compiled
from loopwright.loops.loop_value import HAIR, fits, keep, points
from loopwright.loops.shapes import Found, Local, Path, Rule, Tables
from loopwright.loops.tune import MARGIN


@compiled
def may_ride(local: Local, rule: Rule, path: Path, depth: int, arc: int) -> bool:
    """Tell whether the arc may follow at ``depth``: once, or again while repeats last."""
    twin = local.twin[arc]
    times = path.times[arc]
    if twin >= 0 and path.times[twin] > 0:
        if not rule.head_on or rule.repeats == 0:
            return False
        times += path.times[twin]
    if times == 0:
        return True
    return times == 1 and rule.repeats > 0 and path.repeats[depth] < rule.repeats


@compiled
def home_in_time(local: Local, rule: Rule, path: Path, arc: int, left: float) -> bool:
    """Tell whether the root, and every must stretch before it, can still be reached."""
    if local.home[arc] > left:
        return False
    for m in range(rule.musts):
        if path.seen[m] == 0 and local.must[arc] != m and local.via[m, arc] > left:
            return False
    return True


@compiled
def ceiling(
    local: Local, rule: Rule, tables: Tables, path: Path, depth: int, arc: int, link: int
) -> float:
    """Bound on every loop that goes on from ``depth`` with ``arc``; -inf if none can."""
    length = path.length[depth] + local.length[arc]
    left = rule.cap - length
    if not may_ride(local, rule, path, depth, arc) or not home_in_time(
        local, rule, path, arc, left
    ):
        return -np.inf
    again = path.again[depth]
    if path.times[arc] > 0:
        again += local.length[arc]
    best = tables.best[int(left / tables.bucket) + tables.spare, arc]
    kinds = rule.most.size
    whole = 0.0
    bound = np.inf
    for k in range(kinds):
        more = path.worth[depth, k] + local.worth[arc, k]
        if link >= 0:
            more += local.link_worth[link, k]
        whole += min(rule.most[k], more + best[k])
    bound = whole - rule.price * (length + local.home[arc])
    for j in range(tables.fixed.size):
        here = path.value[depth, j] + tables.arc_value[arc, kinds + j] + best[kinds + j]
        here += tables.fixed[j]
        if link >= 0:
            here += tables.link_value[link, kinds + j]
        for k in range(kinds):
            more = path.worth[depth, k] + local.worth[arc, k] + best[k]
            if link >= 0:
                more += local.link_worth[link, k]
            here += (1.0 - tables.kind[j, k]) * min(rule.most[k], more)
        bound = min(bound, here)
    return float(bound - rule.price * again + MARGIN)


@compiled
def ride(local: Local, tables: Tables, path: Path, depth: int, arc: int, link: int) -> None:
    """Put ``arc`` at ``depth`` (from 1) and carry all sums along."""
    kinds = local.worth.shape[1]
    twin = local.twin[arc]
    again = path.times[arc] > 0 or (twin >= 0 and path.times[twin] > 0)
    path.arc[depth] = arc
    path.length[depth] = path.length[depth - 1] + local.length[arc]
    path.again[depth] = path.again[depth - 1] + (local.length[arc] if again else 0.0)
    path.repeats[depth] = path.repeats[depth - 1] + (1 if again else 0)
    for k in range(kinds):
        path.worth[depth, k] = path.worth[depth - 1, k] + local.worth[arc, k]
        if link >= 0:
            path.worth[depth, k] += local.link_worth[link, k]
    for c in range(local.load.shape[1]):
        path.load[depth, c] = path.load[depth - 1, c] + local.load[arc, c]
    for j in range(tables.fixed.size):
        path.value[depth, j] = path.value[depth - 1, j] + tables.arc_value[arc, kinds + j]
        if link >= 0:
            path.value[depth, j] += tables.link_value[link, kinds + j]
    path.times[arc] += 1
    first = local.must[arc] >= 0 and path.seen[local.must[arc]] == 0
    path.musts[depth] = path.musts[depth - 1] + (1 if first else 0)
    if local.must[arc] >= 0:
        path.seen[local.must[arc]] += 1


@compiled
def unwind(local: Local, path: Path, depth: int) -> None:
    """Take arcs off until the path is shorter than ``depth``."""
    while path.cursor[0] >= depth:
        arc = path.arc[path.cursor[0]]
        path.times[arc] -= 1
        if local.must[arc] >= 0:
            path.seen[local.must[arc]] -= 1
        path.cursor[0] -= 1


@compiled
def try_close(local: Local, rule: Rule, path: Path, found: Found) -> None:
    """Keep the path as a loop if it closes, is legal and is better than the best."""
    depth = path.cursor[0]
    arc, start = path.arc[depth], path.arc[1]
    if path.musts[depth] < rule.musts or not fits(path.load[depth], rule.room):
        return
    price = rule.price * (path.length[depth] + path.again[depth])
    for e in range(local.close_first[arc], local.close_first[arc + 1]):
        if local.close_arc[e] == start:
            score = points(path.worth[depth], local.close_worth[e], rule.most) - price
            if score > found.score[0] + HAIR:
                keep(local, path.arc[1 : depth + 1], score, found)


@compiled
def push(path: Path, depth: int, arc: int, link: int, bound: float) -> None:
    """Open a branch."""
    i = path.cursor[1]
    path.open_depth[i] = depth
    path.open_arc[i] = arc
    path.open_link[i] = link
    path.open_bound[i] = bound
    path.cursor[1] = i + 1


@compiled
def sort_last(path: Path, first: int) -> None:
    """Order the open branches from ``first`` on by rising bound, so that the best comes next."""
    for i in range(first + 1, path.cursor[1]):
        j = i
        while j > first and path.open_bound[j - 1] > path.open_bound[j]:
            path.open_bound[j - 1], path.open_bound[j] = path.open_bound[j], path.open_bound[j - 1]
            path.open_arc[j - 1], path.open_arc[j] = path.open_arc[j], path.open_arc[j - 1]
            path.open_link[j - 1], path.open_link[j] = path.open_link[j], path.open_link[j - 1]
            j -= 1


@compiled
def branch(local: Local, rule: Rule, tables: Tables, path: Path, found: Found, gap: float) -> None:
    """Open every branch from the end of the path that may still lead to something better.

    A loop that passes its root more than once is searched from its lowest-numbered start only.
    """
    depth = path.cursor[0]
    arc = path.arc[depth]
    begin = path.cursor[1]
    for e in range(local.first[arc], local.first[arc + 1]):
        c = local.succ[e]
        if c < path.arc[1]:
            continue
        bound = ceiling(local, rule, tables, path, depth, c, e)
        if bound > found.score[0] + gap:
            push(path, depth + 1, c, e, bound)
    sort_last(path, begin)


@compiled
def begin(local: Local, rule: Rule, tables: Tables, path: Path, found: Found, gap: float) -> None:
    """Open one branch for each arc that leaves the root."""
    for a in range(local.starts):
        bound = ceiling(local, rule, tables, path, 0, a, -1)
        if bound > found.score[0] + gap:
            push(path, 1, a, -1, bound)
    sort_last(path, 0)


@compiled
def dive(
    local: Local, rule: Rule, tables: Tables, path: Path, found: Found, gap: float, nodes: int
) -> int:
    """Search on until done or ``nodes`` nodes are spent; give the nodes spent."""
    spent = 0
    while path.cursor[1] > 0 and spent < nodes:
        i = path.cursor[1] - 1
        path.cursor[1] = i
        if path.open_bound[i] <= found.score[0] + gap:
            continue
        spent += 1
        depth = path.open_depth[i]
        unwind(local, path, depth)
        ride(local, tables, path, depth, path.open_arc[i], path.open_link[i])
        path.cursor[0] = depth
        if local.close_first[path.open_arc[i]] < local.close_first[path.open_arc[i] + 1]:
            try_close(local, rule, path, found)
        branch(local, rule, tables, path, found, gap)
    return spent


@compiled
def open_bound(path: Path) -> float:
    """Largest bound of the open branches, -inf when none is open."""
    best = -np.inf
    for i in range(path.cursor[1]):
        best = max(best, path.open_bound[i])
    return best
