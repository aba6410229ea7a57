# ruff: noqa: PLR0917 - compiled functions take positional arguments only
"""Kernels that fill the bound tables.

Get a local graph and price sets; give, for each arc and each length left, the best value of any
non-backtracking walk home. Promise: no loop's remainder is worth more than its table entry.
"""

from __future__ import annotations

import math

import numpy as np

from loopwright.loops.compiled import compiled
from loopwright.loops.shapes import Counts, Local, Prices, Reals, Rule, Singles, Tables


@compiled
def bucket_counts(local: Local, bucket: float, turns: int) -> tuple[Counts, int]:
    """(n,) whole buckets of each arc, at least one, and the buckets to spare for that.

    A stretch shorter than a bucket counts a whole one; what all such stretches gain, each ridden
    up to ``turns`` times, is added to every budget, so that no walk is cut off.
    """
    count = np.empty(local.length.size, np.int32)
    gain = np.zeros(local.stretches)
    for a in range(count.size):
        count[a] = max(1, int(local.length[a] / bucket))
        gain[local.stretch[a]] = max(0.0, bucket - local.length[a])
    return count, math.ceil(turns * gain.sum() / bucket)


@compiled
def priced(local: Local, prices: Prices, price: float) -> tuple[Reals, Reals, Reals]:
    """Values under one price set: arcs (n,), links (m,), closing links."""
    value = local.worth @ prices.kind - local.load @ prices.room
    for a in range(value.size):
        value[a] -= price * local.length[a] + prices.once[local.stretch[a]]
    return value, local.link_worth @ prices.kind, local.close_worth @ prices.kind


@compiled
def fixed_part(prices: Prices, rule: Rule) -> float:
    """Give the constant of a price set, without the part of the kinds."""
    return float(prices.room @ rule.room + prices.once.sum())


@compiled
def best_close(local: Local, close: Reals) -> Reals:
    """(n,) best closing link of each arc, -inf where none."""
    best = np.full(local.length.size, -np.inf)
    for a in range(best.size):
        for e in range(local.close_first[a], local.close_first[a + 1]):
            best[a] = max(best[a], close[e])
    return best


@compiled
def fill_one(
    local: Local, count: Counts, value: Reals, link: Reals, close: Reals, table: Singles
) -> None:
    """Fill ``table`` (B, n) for one price set, budgets rising."""
    for b in range(table.shape[0]):
        for a in range(table.shape[1]):
            best = close[a]
            for e in range(local.first[a], local.first[a + 1]):
                c = local.succ[e]
                if count[c] <= b:
                    best = max(best, value[c] + link[e] + table[b - count[c], c])
            table[b, a] = best


@compiled
def fill_all(
    local: Local, count: Counts, value: Reals, link: Reals, close: Reals, table: Singles
) -> None:
    """Fill ``table`` (B, n, columns) for all columns at once."""
    columns = table.shape[2]
    best = np.empty(columns)
    for b in range(table.shape[0]):
        for a in range(table.shape[1]):
            best[:] = close[a]
            for e in range(local.first[a], local.first[a + 1]):
                c = local.succ[e]
                if count[c] <= b:
                    rest = table[b - count[c], c]
                    for j in range(columns):
                        best[j] = max(best[j], value[c, j] + link[e, j] + rest[j])
            table[b, a] = best


@compiled
def columns_of(
    local: Local, kind: Reals, room: Reals, once: Reals, rule: Rule
) -> tuple[Reals, Reals, Reals]:
    """Values of all table columns: first each kind alone, then each price set (row of ``kind``)."""
    kinds, sets = rule.most.size, kind.shape[0]
    value = np.empty((local.length.size, kinds + sets))
    link = np.empty((local.succ.size, kinds + sets))
    close = np.full((local.length.size, kinds + sets), -np.inf)
    value[:, :kinds] = local.worth
    link[:, :kinds] = local.link_worth
    for k in range(kinds):
        close[:, k] = best_close(local, local.close_worth[:, k].copy())
    for j in range(sets):
        prices = Prices(kind[j], room[j], once[j])
        arc_value, link_value, close_value = priced(local, prices, rule.price)
        value[:, kinds + j] = arc_value
        link[:, kinds + j] = link_value
        close[:, kinds + j] = best_close(local, close_value)
    return value, link, close


@compiled
def build_tables(
    local: Local, kind: Reals, room: Reals, once: Reals, rule: Rule, bucket: float
) -> Tables:
    """Tables for price sets given as rows: ``kind`` (J, K), ``room`` (J, C), ``once`` (J, s)."""
    count, spare = bucket_counts(local, bucket, 2 if rule.repeats > 0 else 1)
    value, link, close = columns_of(local, kind, room, once, rule)
    size = int(rule.cap / bucket) + spare + 1
    table = np.empty((size, local.length.size, value.shape[1]), np.float32)
    fill_all(local, count, value, link, close, table)
    fixed = np.empty(kind.shape[0])
    for j in range(fixed.size):
        fixed[j] = fixed_part(Prices(kind[j], room[j], once[j]), rule)
    return Tables(bucket, spare, table, value, link, fixed, kind)
