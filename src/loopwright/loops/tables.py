# ruff: noqa: PLR0917 - compiled functions take positional arguments only
"""Kernels that fill the bound tables.

Get a local graph and price sets; give, for each arc and each length left, the best value of any
non-backtracking walk home. Promise: no loop's remainder is worth more than its table entry.
"""

from __future__ import annotations

import math

import numpy as np

from loopwright.loops.compiled import compiled, inlined, lean
from loopwright.loops.shapes import Buckets, Desk, Local, Prices, Reals, Rule, Singles, Tables

ONCE_SCALE = 5.0
"""Points that one unit of a stretch's price stands for, so that all prices step alike."""
TIGHT = 3.0
"""Longest laps that the trail near a root may come to, for floods to be worth their time."""


@compiled
def in_buckets(local: Local, rule: Rule, bucket: float) -> Buckets:
    """Lengths in buckets.

    A stretch shorter than a bucket counts a whole one; what all such stretches gain, each ridden
    up to twice with repeats and once without, is added to every budget, so that no walk of a
    legal loop is cut off.
    """
    size = local.length.size
    whole, low, high = np.empty(size, np.int32), np.empty(size, np.int32), np.empty(size, np.int32)
    gain = np.zeros(local.stretches)
    for a in range(size):
        whole[a] = max(1, int(local.length[a] / bucket))
        gain[local.stretch[a]] = max(0.0, bucket - local.length[a])
    total = 0.0
    for s in range(gain.size):
        total += gain[s] * (2 if rule.repeats > 0 else 1)
    spare = math.ceil(total / bucket)
    for a in range(size):
        low[a] = int(local.home[a] / bucket)
        high[a] = int((rule.cap - local.out[a]) / bucket) + spare
    return Buckets(whole, low, high, spare)


@compiled
def budgets(rule: Rule, bucket: float, spare: int) -> int:
    """How many budgets a table has."""
    return int(rule.cap / bucket) + spare + 1


@compiled
def split(flat: Reals, rule: Rule) -> Prices:
    """Prices from a flat row: kinds, conditions, stretches."""
    kinds, rooms = rule.most.size, rule.room.size
    once = np.empty(flat.size - kinds - rooms)
    for s in range(once.size):
        once[s] = flat[kinds + rooms + s] * ONCE_SCALE
    return Prices(flat[:kinds], flat[kinds : kinds + rooms], once)


@inlined
def weighted(table: Reals, weights: Reals, out: Reals, column: int) -> None:
    """Add each row's weighted sum to a column of ``out``."""
    for i in range(table.shape[0]):
        for k in range(weights.size):
            out[i, column] += table[i, k] * weights[k]


@lean
def priced(
    local: Local, prices: Prices, price: float, arc: Reals, link: Reals, close: Reals, column: int
) -> None:
    """Write values under one price set into a column: arcs, links, best closing link of each arc.

    ``link`` keeps its last row at 0; ``close`` is -inf where an arc cannot close.
    """
    arc[:, column] = 0.0
    link[:, column] = 0.0
    weighted(local.worth, prices.kind, arc, column)
    weighted(local.link_worth, prices.kind, link, column)
    for a in range(local.length.size):
        arc[a, column] -= price * local.length[a] + prices.once[local.stretch[a]]
        for c in range(prices.room.size):
            arc[a, column] -= local.load[a, c] * prices.room[c]
        close[a, column] = -np.inf
        for e in range(local.close_first[a], local.close_first[a + 1]):
            here = 0.0
            for k in range(prices.kind.size):
                here += local.close_worth[e, k] * prices.kind[k]
            close[a, column] = max(close[a, column], here)


@compiled
def fixed_part(prices: Prices, rule: Rule) -> float:
    """Give the constant of a price set, without the part of the kinds."""
    total = 0.0
    for c in range(prices.room.size):
        total += prices.room[c] * rule.room[c]
    for s in range(prices.once.size):
        total += prices.once[s]
    return total


@lean
def fill(
    local: Local,
    lengths: Buckets,
    value: Reals,
    link: Reals,
    close: Reals,
    best: Reals,
    table: Singles,
) -> None:
    """Fill ``table`` (B, n, columns), budgets rising, where the budget can be left at all.

    ``best`` (columns,) is for working in.
    """
    columns = table.shape[2]
    for b in range(table.shape[0]):
        for a in range(table.shape[1]):
            if lengths.low[a] <= b <= lengths.high[a]:
                for j in range(columns):
                    best[j] = close[a, j]
                for e in range(local.first[a], local.first[a + 1]):
                    c = local.succ[e]
                    left = min(b - lengths.whole[c], lengths.high[c])
                    if left >= lengths.low[c]:
                        for j in range(columns):
                            best[j] = max(best[j], value[c, j] + link[e, j] + table[left, c, j])
                for j in range(columns):
                    table[b, a, j] = best[j]


@lean
def fill_one(local: Local, lengths: Buckets, desk: Desk) -> None:
    """Fill a table of one column, as ``fill`` does."""
    for b in range(desk.table.shape[0]):
        for a in range(desk.table.shape[1]):
            if lengths.low[a] <= b <= lengths.high[a]:
                best = desk.close[a, 0]
                for e in range(local.first[a], local.first[a + 1]):
                    c = local.succ[e]
                    left = min(b - lengths.whole[c], lengths.high[c])
                    if left >= lengths.low[c]:
                        best = max(best, desk.value[c, 0] + desk.link[e, 0] + desk.table[left, c])
                desk.table[b, a] = best


@compiled
def alone(local: Local, rule: Rule, k: int) -> Prices:
    """Prices under which only kind ``k`` counts."""
    prices = Prices(np.zeros(rule.most.size), np.zeros(rule.room.size), np.zeros(local.stretches))
    prices.kind[k] = 1.0
    return prices


@compiled
def is_tight(local: Local, rule: Rule) -> bool:
    """Tell whether a lap takes so much of what is near that the path soon fences ground off."""
    total = 0.0
    for a in range(local.length.size):
        if local.twin[a] < a:
            total += local.length[a]
    return total <= TIGHT * rule.cap


@compiled
def richest(local: Local) -> Reals:
    """(n, K + C) the most of each kind that riding an arc's stretch brings, and the least load.

    Either way, with any passage into it; a load that only adds to a condition counts as nothing.
    """
    size, kinds = local.worth.shape
    rooms = local.load.shape[1]
    rich = np.zeros((size, kinds + rooms))
    for e in range(local.succ.size):
        for k in range(kinds):
            rich[local.succ[e], k] = max(rich[local.succ[e], k], local.link_worth[e, k])
    for a in range(size):
        for k in range(kinds):
            rich[a, k] += local.worth[a, k]
        for c in range(rooms):
            rich[a, kinds + c] = min(0.0, local.load[a, c])
    for a in range(size):
        if local.twin[a] > a:
            for k in range(kinds + rooms):
                both = rich[a, k], rich[local.twin[a], k]
                best = max(both[0], both[1]) if k < kinds else min(both[0], both[1])
                rich[a, k] = best
                rich[local.twin[a], k] = best
    return rich


@compiled
def most_at_last(local: Local) -> Reals:
    """(K,) the most of each kind that a closing passage brings."""
    most = np.zeros(local.worth.shape[1])
    for e in range(local.close_arc.size):
        for k in range(most.size):
            most[k] = max(most[k], local.close_worth[e, k])
    return most


@compiled
def build_tables(local: Local, rule: Rule, sets: Reals, bucket: float) -> Tables:
    """Tables for price sets given as flat rows of ``sets``."""
    kinds = rule.most.size
    columns = kinds + sets.shape[0]
    lengths = in_buckets(local, rule, bucket)
    value = np.empty((local.length.size, columns))
    link = np.empty((local.succ.size + 1, columns))
    close = np.empty((local.length.size, columns))
    fixed, loose = np.zeros(sets.shape[0]), np.zeros(sets.shape[0])
    free = np.empty((sets.shape[0], kinds))
    for k in range(kinds):
        priced(local, alone(local, rule, k), 0.0, value, link, close, k)
    for j in range(sets.shape[0]):
        prices = split(sets[j], rule)
        priced(local, prices, rule.price, value, link, close, kinds + j)
        fixed[j] = fixed_part(prices, rule)
        loose[j] = fixed[j]
        for k in range(kinds):
            free[j, k] = 1.0 - prices.kind[k]
            loose[j] += free[j, k] * rule.most[k]
    size = budgets(rule, bucket, lengths.spare)
    table = np.empty((size, local.length.size, columns), np.float32)
    fill(local, lengths, value, link, close, np.empty(columns), table)
    return Tables(
        bucket, lengths.spare, table, value, link, fixed, free, loose, richest(local),
        most_at_last(local), is_tight(local, rule),
    )  # fmt: skip
