# ruff: noqa: PLR0917 - compiled functions take positional arguments only
"""Kernel that tunes a price set for one root by subgradient steps.

Gets a local graph, a price set to start from and a score worth beating; betters the prices in
place and gives the root's bound. Promise: the bound is true for the prices left behind.
"""

from __future__ import annotations

import numpy as np

from loopwright.loops.compiled import compiled, lean
from loopwright.loops.loop_value import judge, link_between
from loopwright.loops.shapes import Buckets, Counts, Desk, Found, Local, Reals, Rule, Stride
from loopwright.loops.tables import (
    ONCE_SCALE,
    budgets,
    fill_one,
    fixed_part,
    in_buckets,
    priced,
    split,
)

MARGIN = 1e-3
"""Tables are in single precision; bounds read from them get this much added."""
AIM = 20.0
"""A step aims at the best loop found, but no more points than this below."""


@lean
def best_start(local: Local, lengths: Buckets, desk: Desk) -> tuple[float, int]:
    """Best value of a closed walk, and its first arc (-1 if there is none)."""
    best, start = -np.inf, -1
    for a in range(local.starts):
        left = min(desk.table.shape[0] - 1 - lengths.whole[a], lengths.high[a])
        if left >= lengths.low[a]:
            here = desk.value[a, 0] + desk.table[left, a]
            if here > best:
                best, start = here, a
    return best, start


@compiled
def walk_of(local: Local, lengths: Buckets, desk: Desk, start: int) -> Counts:
    """Arcs of the table's best closed walk that begins with ``start``."""
    arcs = np.empty(desk.table.shape[0], np.int32)
    arc, size = start, 0
    left = desk.table.shape[0] - 1
    while arc >= 0:
        arcs[size] = arc
        size += 1
        left = min(left - lengths.whole[arc], lengths.high[arc])
        best, after = desk.close[arc, 0], -1
        for e in range(local.first[arc], local.first[arc + 1]):
            c = local.succ[e]
            rest = min(left - lengths.whole[c], lengths.high[c])
            if rest >= lengths.low[c]:
                here = desk.value[c, 0] + desk.link[e, 0] + desk.table[rest, c]
                if here > best:
                    best, after = here, c
        arc = after
    return arcs[:size]


@compiled
def pulls(local: Local, rule: Rule, arcs: Counts) -> Reals:
    """(K + C + s,) subgradient of the bound at the walk ``arcs``: kinds, conditions, stretches."""
    kinds, rooms = rule.most.size, rule.room.size
    pull = np.empty(kinds + rooms + local.stretches)
    for i in range(pull.size):
        pull[i] = ONCE_SCALE
    for k in range(kinds):
        pull[k] = -rule.most[k]
    for c in range(rooms):
        pull[kinds + c] = rule.room[c]
    for i in range(arcs.size):
        a = arcs[i]
        pull[kinds + rooms + local.stretch[a]] -= ONCE_SCALE
        for c in range(rooms):
            pull[kinds + c] -= local.load[a, c]
        e = link_between(local, arcs[i - 1], a) if i > 0 else -1
        for k in range(kinds):
            pull[k] += local.worth[a, k] + (local.link_worth[e, k] if e >= 0 else 0.0)
    return pull


@compiled
def ranges(local: Local, rule: Rule) -> tuple[Reals, Reals]:
    """(K + C + s,) least and greatest value of each price that keeps the bound true.

    A must-ridden stretch is ridden exactly once, so its price is free; if it may be ridden again
    it may only be a reward. Other stretches that may be ridden again have no price.
    """
    kinds, rooms = rule.most.size, rule.room.size
    low, high = np.zeros(kinds + rooms + local.stretches), np.zeros(kinds + rooms + local.stretches)
    for i in range(high.size):
        high[i] = 1.0 if i < kinds else np.inf
        if rule.repeats > 0 and i >= kinds + rooms:
            high[i] = 0.0
    for a in range(local.length.size):
        if local.must[a] >= 0:
            low[kinds + rooms + local.stretch[a]] = -np.inf
    return low, high


@lean
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
def look(
    local: Local, rule: Rule, lengths: Buckets, flat: Reals, desk: Desk, found: Found
) -> tuple[float, Counts]:
    """Bound under the prices, and the walk that reaches it (which may be a loop worth keeping)."""
    prices = split(flat, rule)
    priced(local, prices, rule.price, desk.value, desk.link, desk.close, 0)
    fill_one(local, lengths, desk)
    best, start = best_start(local, lengths, desk)
    if start < 0:
        return -np.inf, np.empty(0, np.int32)
    walk = walk_of(local, lengths, desk, start)
    judge(local, rule, walk, found)
    bound = best + MARGIN + fixed_part(prices, rule)
    for k in range(rule.most.size):
        bound += rule.most[k] * (1.0 - prices.kind[k])
    return bound, walk


@compiled
def tune(
    local: Local, rule: Rule, flat: Reals, found: Found, bucket: float, steps: int, gap: float,
    stride: Stride,
) -> float:  # fmt: skip
    """Better ``flat`` (K + C + s,) in place in up to ``steps`` looks; give the root's bound.

    Stops early once the bound is within ``gap`` of the best loop found. Taking part of the step
    before along is due to Camerini, Fratta and Maffioli 1975 (Mathematical Programming Study 3).
    """
    size = local.length.size
    lengths = in_buckets(local, rule, bucket)
    desk = Desk(
        np.empty((size, 1)), np.empty((local.succ.size + 1, 1)), np.empty((size, 1)),
        np.empty((budgets(rule, bucket, lengths.spare), size), np.float32),
    )  # fmt: skip
    low, high = ranges(local, rule)
    bound, kept, fails = np.inf, flat.copy(), 0
    drive = np.zeros(flat.size)
    for _ in range(steps):
        here, walk = look(local, rule, lengths, flat, desk, found)
        if here < bound - 1e-9:
            bound = here
            kept[:] = flat
            fails = 0
        else:
            fails += 1
            if fails == stride.patience:
                stride.pace[0] *= 0.6
                fails = 0
        if bound <= found.score[0] + gap:
            break
        target = max(found.score[0], here - AIM)
        drive = pulls(local, rule, walk) + stride.memory * drive
        move(flat, drive.copy(), low, high, stride.pace[0] * max(here - target, 0.05))
    flat[:] = kept
    return bound
