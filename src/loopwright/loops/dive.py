# ruff: noqa: PLR0917 - compiled functions take positional arguments only
"""Kernel of the depth-first search below one root.

Gets a local graph, its tables and a path with open branches; rides on until nothing is open, the
node budget is used. Promise: no loop better than the best found by more
than ``gap`` is ever cut off, and what is still open stays in the path, with its bounds.
"""

from __future__ import annotations

import numpy as np

from loopwright.loops.compiled import inlined, lean
from loopwright.loops.loop_value import HAIR, fits, keep, points
from loopwright.loops.shapes import Counts, Found, Local, Path, Reals, Rule, Tables
from loopwright.loops.tune import MARGIN

FLOOD_EVERY = 3
"""Arcs ridden between one flood and the next: a flood costs as much as several nodes."""


@inlined
def may_ride(times: Counts, arc: int, twin: int, rule: Rule, repeats: int) -> bool:
    """Tell whether the arc may follow: once, or again while repeats last, and never both ways."""
    if twin >= 0 and times[twin] > 0:
        return False
    return times[arc] == 0 or (times[arc] == 1 and repeats < rule.repeats)


@inlined
def must_in_time(must: Counts, via: Reals, seen: Counts, arc: int, left: float) -> bool:
    """Tell whether every must stretch can still be reached, each before the root."""
    for m in range(via.shape[0]):
        if seen[m] == 0 and must[arc] != m and via[m, arc] > left:
            return False
    return True


@inlined
def free(local: Local, rule: Rule, path: Path, arc: int) -> bool:
    """Tell whether the path may still ride an arc, and pass the junction it leads to once more."""
    gate = local.gate[arc]
    return (
        path.barred[arc] == 0
        and (rule.repeats > 0 or gate < 0 or path.passed[gate] < local.limit[gate])
        and may_ride(path.times, arc, local.twin[arc], rule, path.repeats[path.cursor[0]])
    )


@inlined
def flood(local: Local, rule: Rule, path: Path) -> tuple[int, bool]:
    """Put all arcs on free ways from the path's end into the queue; how many, and is home there."""
    here = path.arc[path.cursor[0]]
    path.queue[local.length.size] += 1
    number = path.queue[local.length.size]
    home = local.close_first[here] < local.close_first[here + 1]
    count, done = 0, -1
    while done < count:
        if done >= 0:
            here = path.queue[done]
        for e in range(local.first[here], local.first[here + 1]):
            b = local.succ[e]
            if path.mark[b] != number and free(local, rule, path, b):
                path.mark[b] = number
                path.queue[count] = b
                count += 1
                home = home or local.close_first[b] < local.close_first[b + 1]
        done += 1
    return count, home


@inlined
def floods(rule: Rule, tables: Tables, depth: int) -> bool:
    """Tell whether to look round from a path of this depth."""
    return tables.tight and rule.repeats == 0 and depth % FLOOD_EVERY == 1


@inlined
def outlook(local: Local, rule: Rule, tables: Tables, path: Path) -> float:
    """Bound by what can still be reached: all that lies on free ways from the path's end.

    The path fences off part of the ground: no way leads there without riding a stretch twice.
    """
    depth, kinds = path.cursor[0], rule.most.size
    count, home = flood(local, rule, path)
    if not home:
        return -np.inf
    number = path.queue[local.length.size]
    for k in range(kinds):
        path.sums[k] = path.worth[depth, k] + tables.last[k]
    for c in range(rule.room.size):
        path.sums[kinds + c] = path.load[depth, c] - rule.room[c]
    for i in range(count):
        arc = path.queue[i]
        twin = local.twin[arc]
        if twin < 0 or path.mark[twin] != number or arc < twin:
            for k in range(path.sums.size):
                path.sums[k] += tables.rich[arc, k]
    length = float(path.length[depth] + local.home[path.arc[depth]])
    bound = 0.0
    for k in range(kinds):
        bound += min(rule.most[k], path.sums[k])
    for c in range(rule.room.size):
        if path.sums[kinds + c] > HAIR:
            return -np.inf
    return bound - rule.price * max(rule.least, length)


@inlined
def ceiling(
    local: Local, rule: Rule, tables: Tables, path: Path, arc: int, link: int, floor: float
) -> float:
    """Bound on every loop that goes on with ``arc``; -inf if none can better ``floor``."""
    depth = path.cursor[0]
    left = rule.cap - path.length[depth] - local.length[arc]
    if (
        local.home[arc] > left
        or not free(local, rule, path, arc)
        or not must_in_time(local.must, local.via, path.seen, arc, left)
    ):
        return -np.inf
    row = int(left / tables.bucket) + tables.spare
    kinds, again = rule.most.size, path.again[depth]
    if path.times[arc] > 0:
        again += local.length[arc]
    floor += rule.price * again - MARGIN
    for j in range(tables.fixed.size):
        here = path.value[depth, j] + tables.arc_value[arc, kinds + j]
        here += tables.link_value[link, kinds + j] + tables.best[row, arc, kinds + j]
        path.scratch[j] = here + tables.fixed[j]
        if here + tables.loose[j] <= floor:
            return -np.inf
    bound = -rule.price * max(rule.least, rule.cap - left + local.home[arc])
    for k in range(kinds):
        more = path.worth[depth, k] + tables.arc_value[arc, k] + tables.link_value[link, k]
        more = min(rule.most[k], more + tables.best[row, arc, k])
        bound += more
        for j in range(tables.fixed.size):
            path.scratch[j] += tables.free[j, k] * more
    for j in range(tables.fixed.size):
        bound = min(bound, path.scratch[j])
    return bound - rule.price * again + MARGIN if bound > floor else -np.inf


@inlined
def bar(foe_first: Counts, foe: Counts, barred: Counts, arc: int, change: int) -> None:
    """Bar the foes of an arc, or let them be again."""
    for e in range(foe_first[arc], foe_first[arc + 1]):
        barred[foe[e]] += change


@inlined
def ride(local: Local, tables: Tables, path: Path, depth: int, arc: int, link: int) -> None:
    """Put ``arc`` at ``depth`` (from 1) and carry all sums along."""
    kinds = local.worth.shape[1]
    must, again = local.must[arc], path.times[arc] > 0
    path.cursor[0] = depth
    path.arc[depth] = arc
    path.length[depth] = path.length[depth - 1] + local.length[arc]
    path.again[depth] = path.again[depth - 1] + (local.length[arc] if again else 0.0)
    path.repeats[depth] = path.repeats[depth - 1] + (1 if again else 0)
    for k in range(kinds):
        more = tables.arc_value[arc, k] + tables.link_value[link, k]
        path.worth[depth, k] = path.worth[depth - 1, k] + more
    for c in range(local.load.shape[1]):
        path.load[depth, c] = path.load[depth - 1, c] + local.load[arc, c]
    for j in range(tables.fixed.size):
        more = tables.arc_value[arc, kinds + j] + tables.link_value[link, kinds + j]
        path.value[depth, j] = path.value[depth - 1, j] + more
    path.times[arc] += 1
    if local.gate[arc] >= 0:
        path.passed[local.gate[arc]] += 1
    bar(local.foe_first, local.foe, path.barred, arc, 1)
    path.musts[depth] = path.musts[depth - 1]
    if must >= 0:
        path.musts[depth] += 1 if path.seen[must] == 0 else 0
        path.seen[must] += 1


@inlined
def unwind(local: Local, path: Path, depth: int) -> None:
    """Take arcs off until the path is shorter than ``depth``."""
    while path.cursor[0] >= depth:
        arc = path.arc[path.cursor[0]]
        path.times[arc] -= 1
        if local.gate[arc] >= 0:
            path.passed[local.gate[arc]] -= 1
        bar(local.foe_first, local.foe, path.barred, arc, -1)
        if local.must[arc] >= 0:
            path.seen[local.must[arc]] -= 1
        path.cursor[0] -= 1


@inlined
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


@inlined
def push(path: Path, first: int, arc: int, link: int, bound: float) -> None:
    """Open a branch one deeper than the path, in order of rising bound from ``first`` on."""
    i = path.cursor[1]
    path.cursor[1] = i + 1
    while i > first and path.open_bound[i - 1] > bound:
        path.open_arc[i] = path.open_arc[i - 1]
        path.open_link[i] = path.open_link[i - 1]
        path.open_bound[i] = path.open_bound[i - 1]
        path.open_depth[i] = path.open_depth[i - 1]
        i -= 1
    path.open_depth[i] = path.cursor[0] + 1
    path.open_arc[i] = arc
    path.open_link[i] = link
    path.open_bound[i] = bound


@inlined
def branch(local: Local, rule: Rule, tables: Tables, path: Path, found: Found, gap: float) -> None:
    """Open every branch from the end of the path that may still lead to something better.

    From an empty path these are the arcs that leave the root. A loop that passes its root more
    than once is searched from its lowest-numbered start only.
    """
    depth, opened = path.cursor[0], path.cursor[1]
    floor = found.score[0] + gap
    begin, end, lowest = 0, local.starts, 0
    if floods(rule, tables, depth) and outlook(local, rule, tables, path) <= floor:
        return
    if depth > 0:
        begin, end = local.first[path.arc[depth]], local.first[path.arc[depth] + 1]
        lowest = path.arc[1]
    for e in range(begin, end):
        arc = local.succ[e] if depth > 0 else e
        link = e if depth > 0 else local.succ.size
        if arc >= lowest:
            bound = ceiling(local, rule, tables, path, arc, link, floor)
            if bound > floor:
                push(path, opened, arc, link, bound)


@lean
def dive(
    local: Local, rule: Rule, tables: Tables, path: Path, found: Found, gap: float, nodes: int
) -> int:
    """Search on until done or ``nodes`` nodes are spent; give the nodes spent.

    A path that was never searched has ``cursor[1]`` -1 and begins at the root.
    """
    spent = 0
    if path.cursor[1] < 0:
        path.cursor[1] = 0
        branch(local, rule, tables, path, found, gap)
    while path.cursor[1] > 0 and spent < nodes:
        i = path.cursor[1] - 1
        path.cursor[1] = i
        if path.open_bound[i] <= found.score[0] + gap:
            continue
        spent += 1
        arc, depth = path.open_arc[i], path.open_depth[i]
        unwind(local, path, depth)
        ride(local, tables, path, depth, arc, path.open_link[i])
        if local.close_first[arc] < local.close_first[arc + 1]:
            try_close(local, rule, path, found)
        branch(local, rule, tables, path, found, gap)
    return spent
