# ruff: noqa: PLR0917 - compiled functions take positional arguments only
"""Kernel that tunes a price set for one root by subgradient steps.

Gets a local graph, a price set to start from and a score worth beating; betters the prices in
place and gives the root's bound. Promise: the bound is true for the prices left behind.
"""

from __future__ import annotations

import numpy as np

from loopwright.loops.compiled import compiled
from loopwright.loops.loop_value import judge, link_between
from loopwright.loops.shapes import Counts, Found, Local, Prices, Reals, Rule, Singles
from loopwright.loops.tables import best_close, bucket_counts, fill_one, fixed_part, priced

MARGIN = 1e-3
"""Tables are in single precision; bounds read from them get this much added."""
ONCE_SCALE = 5.0
"""Points that one unit of a stretch's price stands for, so that all prices step alike."""


@compiled
def best_start(local: Local, count: Counts, value: Reals, table: Singles) -> tuple[float, int]:
    """Best value of a closed walk, and its first arc (-1 if there is none)."""
    top = table.shape[0] - 1
    best, start = -np.inf, -1
    for a in range(local.starts):
        if count[a] <= top:
            here = value[a] + table[top - count[a], a]
            if here > best:
                best, start = here, a
    return best, start


@compiled
def next_arc(
    local: Local, count: Counts, value: Reals, link: Reals, table: Singles, arc: int, left: int
) -> tuple[int, float]:
    """Arc after ``arc`` in the table's best walk (-1 if none), and its value."""
    best, after = -np.inf, -1
    for e in range(local.first[arc], local.first[arc + 1]):
        c = local.succ[e]
        if count[c] <= left:
            here = value[c] + link[e] + table[left - count[c], c]
            if here > best:
                best, after = here, c
    return after, best


@compiled
def walk_of(
    local: Local, count: Counts, value: Reals, link: Reals, close: Reals, table: Singles, start: int
) -> Counts:
    """Arcs of the table's best closed walk that begins with ``start``."""
    arcs = np.empty(table.shape[0], np.int32)
    arc, size = start, 0
    left = table.shape[0] - 1
    while arc >= 0:
        arcs[size] = arc
        size += 1
        left -= count[arc]
        after, best = next_arc(local, count, value, link, table, arc, left)
        arc = -1 if close[arc] >= best else after
    return arcs[:size].copy()


@compiled
def pulls(local: Local, rule: Rule, arcs: Counts) -> Reals:
    """(K + C + s,) subgradient of the bound at the walk ``arcs``: kinds, conditions, stretches."""
    kinds, rooms = rule.most.size, rule.room.size
    pull = np.ones(kinds + rooms + local.stretches)
    pull[:kinds] = -rule.most
    pull[kinds : kinds + rooms] = rule.room
    for i in range(arcs.size):
        a = arcs[i]
        pull[:kinds] += local.worth[a]
        pull[kinds : kinds + rooms] -= local.load[a]
        pull[kinds + rooms + local.stretch[a]] -= 1.0
        if i > 0:
            pull[:kinds] += local.link_worth[link_between(local, arcs[i - 1], a)]
    pull[kinds + rooms :] *= ONCE_SCALE
    return pull


@compiled
def ranges(local: Local, rule: Rule) -> tuple[Reals, Reals]:
    """(K + C + s,) least and greatest value of each price that keeps the bound true.

    A must-ridden stretch is ridden exactly once, so its price is free; if it may be ridden again
    it may only be a reward. Other stretches that may be ridden again have no price.
    """
    kinds, rooms = rule.most.size, rule.room.size
    low = np.zeros(kinds + rooms + local.stretches)
    high = np.full(low.size, np.inf)
    high[:kinds] = 1.0
    if rule.repeats > 0:
        high[kinds + rooms :] = 0.0
    for a in range(local.length.size):
        if local.must[a] >= 0:
            low[kinds + rooms + local.stretch[a]] = -np.inf
    return low, high


@compiled
def move(flat: Reals, pull: Reals, low: Reals, high: Reals, over: float) -> None:
    """Step the prices down by ``over`` over the length of the pull that can be followed."""
    size = 0.0
    for i in range(flat.size):
        if (flat[i] <= low[i] and pull[i] > 0.0) or (flat[i] >= high[i] and pull[i] < 0.0):
            pull[i] = 0.0
        size += pull[i] ** 2
    if size > 0.0:
        for i in range(flat.size):
            flat[i] = min(high[i], max(low[i], flat[i] - over * pull[i] / size))


@compiled
def split(flat: Reals, rule: Rule) -> Prices:
    """Prices from the flat row the steps work on."""
    kinds, rooms = rule.most.size, rule.room.size
    once = flat[kinds + rooms :] * ONCE_SCALE
    return Prices(flat[:kinds], flat[kinds : kinds + rooms], once)


@compiled
def look(
    local: Local, rule: Rule, count: Counts, flat: Reals, table: Singles, found: Found
) -> tuple[float, Counts]:
    """Bound under the prices, and the walk that reaches it (which may be a loop worth keeping)."""
    prices = split(flat, rule)
    value, link, close_value = priced(local, prices, rule.price)
    close = best_close(local, close_value)
    fill_one(local, count, value, link, close, table)
    best, start = best_start(local, count, value, table)
    if start < 0 or best == -np.inf:
        return -np.inf, np.empty(0, np.int32)
    walk = walk_of(local, count, value, link, close, table, start)
    judge(local, rule, walk, found)
    free = (rule.most * (1.0 - prices.kind)).sum()
    return best + MARGIN + free + fixed_part(prices, rule), walk


@compiled
def tune(
    local: Local, rule: Rule, flat: Reals, found: Found, bucket: float, steps: int, gap: float
) -> float:
    """Better ``flat`` (K + C + s,) in place in up to ``steps`` looks; give the root's bound.

    Stops early once the bound is within ``gap`` of the best loop found.
    """
    count, spare = bucket_counts(local, bucket, 2 if rule.repeats > 0 else 1)
    table = np.empty((int(rule.cap / bucket) + spare + 1, local.length.size), np.float32)
    low, high = ranges(local, rule)
    bound, pace, kept = np.inf, 1.0, flat.copy()
    for _ in range(steps):
        here, walk = look(local, rule, count, flat, table, found)
        if here < bound - 1e-9:
            bound = here
            kept[:] = flat
        else:
            pace *= 0.6
        if bound <= found.score[0] + gap:
            break
        target = max(found.score[0], here - 20.0)
        move(flat, pulls(local, rule, walk), low, high, pace * max(here - target, 0.05))
    flat[:] = kept
    return bound
