"""Kernels that judge one closed path and keep the best loop found so far."""

from __future__ import annotations

import numpy as np

from loopwright.loops.compiled import compiled
from loopwright.loops.shapes import Counts, Found, Local, Reals, Rule

HAIR = 1e-9
NONE = -1


@compiled
def points(worth: Reals, more: Reals, most: Reals) -> float:
    """Match in points of worths (K,) and ``more`` (K,) together, each kind held to its most."""
    total = 0.0
    for k in range(most.size):
        total += min(most[k], worth[k] + more[k])
    return total


@compiled
def fits(load: Reals, room: Reals) -> bool:
    """Tell whether every condition holds."""
    over = 0
    for c in range(room.size):
        over += load[c] > room[c] + HAIR
    return over == 0


@compiled
def keep(local: Local, arcs: Counts, score: float, found: Found) -> None:
    """Write a better loop, given by local arc numbers, into ``found``."""
    found.score[0] = score
    found.size[0] = arcs.size
    found.size[1] += 1
    for i in range(arcs.size):
        found.arcs[i] = local.arc[arcs[i]]


@compiled
def closing_link(local: Local, last: int, start: int) -> int:
    """Find the closing link from ``last`` into ``start``, -1 if there is none."""
    for e in range(local.close_first[last], local.close_first[last + 1]):
        if local.close_arc[e] == start:
            return e
    return NONE


@compiled
def link_between(local: Local, before: int, after: int) -> int:
    """Find the link between two arcs, -1 if there is none."""
    for e in range(local.first[before], local.first[before + 1]):
        if local.succ[e] == after:
            return e
    return NONE


@compiled
def at_peace(foe_first: Counts, foe: Counts, arcs: Counts) -> bool:
    """Tell whether no two arcs are foes."""
    for a in arcs:
        for e in range(foe_first[a], foe_first[a + 1]):
            for b in arcs:
                if b == foe[e]:
                    return False
    return True


@compiled
def judge(local: Local, rule: Rule, arcs: Counts, found: Found) -> bool:
    """Keep a closed walk that rides no stretch twice if it is a legal, better loop."""
    ridden = np.zeros(local.stretches, np.bool_)
    worth = np.zeros(rule.most.size)
    load = np.zeros(rule.room.size)
    length = 0.0
    musts = 0
    for i in range(arcs.size):
        a = arcs[i]
        if ridden[local.stretch[a]]:
            return False
        ridden[local.stretch[a]] = True
        musts += local.must[a] >= 0
        length += local.length[a]
        e = link_between(local, arcs[i - 1], a) if i > 0 else NONE
        for k in range(worth.size):
            worth[k] += local.worth[a, k] + (local.link_worth[e, k] if e >= 0 else 0.0)
        for c in range(load.size):
            load[c] += local.load[a, c]
    close = closing_link(local, arcs[arcs.size - 1], arcs[0])
    if close < 0 or length > rule.cap or musts < rule.musts or not fits(load, rule.room):
        return False
    if not at_peace(local.foe_first, local.foe, arcs):
        return False
    score = points(worth, local.close_worth[close], rule.most) - rule.price * length
    if score <= found.score[0] + HAIR:
        return False
    keep(local, arcs, score, found)
    return True
