"""What the compiled kernels pass to each other: plain tuples of arrays.

Shapes use A arcs, E links and S stretches of the whole graph; n arcs, m links and s stretches
near one root; K wanted kinds; C conditions; J price sets; B length buckets. Worths are points: a
kind's amount over its target times its share of 100 points, so that a loop's match in points is
the sum over kinds of the smaller of worth and ``most``.
"""

from __future__ import annotations

from typing import Any, NamedTuple, TypeAlias

import numpy as np
from numpy.typing import NDArray

Reals: TypeAlias = NDArray[np.float64]
Singles: TypeAlias = NDArray[np.float32]
Counts: TypeAlias = NDArray[np.int32]
Flags: TypeAlias = NDArray[np.bool_]
Row: TypeAlias = NDArray[Any]


class Graph(NamedTuple):
    """Every arc that some loop may use, and which arcs may follow it."""

    stretch: Counts
    """(A,) number of the stretch."""
    tail: Counts
    """(A,) junction where the arc begins."""
    head: Counts
    """(A,) junction where it ends."""
    length: Reals
    """(A,) metres."""
    worth: Reals
    """(A, K) points."""
    load: Reals
    """(A, C) what the arc adds to each condition; a loop's sum must not exceed ``Rule.room``."""
    twin: Counts
    """(A,) the arc of the same stretch ridden the other way, -1 if none."""
    must: Counts
    """(A,) number of the must-ridden stretch, -1 if none."""
    first: Counts
    """(A + 1,) where each arc's links begin."""
    succ: Counts
    """(E,) following arc."""
    link_worth: Reals
    """(E, K) points of the passage."""
    pred_first: Counts
    """(A + 1,) where each arc's backward links begin."""
    pred: Counts
    """(E,) preceding arc."""
    foe_first: Counts
    """(A + 1,) where each arc's foes begin."""
    foe: Counts
    """Arcs that no loop may contain beside this one; both ways round."""


class Local(NamedTuple):
    """The part of the graph that loops through one root can use. Arcs leaving the root are first.

    ``close_*`` are the links from an arc that reaches the root into arcs that leave it.
    """

    arc: Counts
    starts: int
    """How many arcs leave the root."""
    stretch: Counts
    stretches: int
    gate: Counts
    """(n,) number of the junction the arc leads to; -1 if a walk that rides each stretch once
    cannot pass that junction too often."""
    limit: Counts
    """(g,) how often a lap without repeats may pass a numbered junction."""
    length: Reals
    out: Reals
    """(n,) metres of the shortest way from the root that ends with the arc."""
    home: Reals
    """(n,) metres of the shortest way to the root after the arc."""
    worth: Reals
    load: Reals
    twin: Counts
    must: Counts
    first: Counts
    succ: Counts
    link_worth: Reals
    close_first: Counts
    close_arc: Counts
    close_worth: Reals
    foe_first: Counts
    foe: Counts
    via: Reals
    """(M, n) metres of the shortest way to the root after the arc through each must stretch."""


class Rule(NamedTuple):
    """The limits of one search."""

    cap: float
    """Longest lap in metres, with a hair of tolerance."""
    least: float
    """Shortest lap in metres, less a hair."""
    most: Reals
    """(K,) most points of each kind; they sum to 100."""
    room: Reals
    """(C,) what each condition may sum to; the first is minus the shortest lap."""
    price: float
    """Points a metre costs."""
    repeats: int
    musts: int


class Prices(NamedTuple):
    """A set of multipliers; any with ``kind`` in 0..1 and the others >= 0 gives a true bound."""

    kind: Reals
    """(K,)"""
    room: Reals
    """(C,)"""
    once: Reals
    """(s,) per stretch: the price of riding it more than once; free in sign when it must be."""


class Buckets(NamedTuple):
    """Lengths in buckets: of each arc, and the least and most that can be left after it."""

    whole: Counts
    """(n,) at least one each."""
    low: Counts
    high: Counts
    spare: int
    """Buckets added to every budget, because short stretches count one whole bucket."""


class Tables(NamedTuple):
    """Best non-backtracking walks home within each length budget.

    Columns 0..K-1 hold each kind's worth alone, K.. the priced value of each price set.
    """

    bucket: float
    spare: int
    """Buckets added to every budget, because short stretches count one whole bucket."""
    best: Singles
    """(B, n, K + J)"""
    arc_value: Reals
    """(n, K + J)"""
    link_value: Reals
    """(m + 1, K + J); the last row is 0 and stands for no link."""
    fixed: Reals
    """(J,) the constant of each price set without the part of the kinds."""
    free: Reals
    """(J, K) 1 minus the price of each kind."""
    loose: Reals
    """(J,) the constant with every kind at its most."""
    rich: Reals
    """(n, K + C) the most of each kind, and the least load, of the arc's stretch, either way."""
    last: Reals
    """(K,) the most that the closing passage can bring."""
    tight: bool
    """Whether what the path fences off is worth looking for."""


class Desk(NamedTuple):
    """Working arrays of one tuning: values of arcs, links, closings (n, 1), their table (B, n)."""

    value: Reals
    link: Reals
    close: Reals
    table: Singles


class Stride(NamedTuple):
    """How long the steps of one tuning are, and what they take along."""

    pace: Reals
    """(1,) part of Polyak's step to go; shrinks in place."""
    patience: int
    """Looks without a better bound before the pace shrinks."""
    memory: float
    """Part of the step before that is added to each pull (a deflected subgradient)."""


class Path(NamedTuple):
    """The state of one depth-first search: the ridden path, per depth, and the open branches."""

    arc: Counts
    length: Reals
    again: Reals
    """Metres ridden a second time."""
    worth: Reals
    load: Reals
    value: Reals
    """(D, J) priced value so far."""
    repeats: Counts
    musts: Counts
    times: Counts
    """(n,) how often each arc is in the path."""
    barred: Counts
    """(n,) how many arcs of the path are foes of this one."""
    seen: Counts
    """(M,) how often each must stretch is in the path."""
    passed: Counts
    """(g,) how often the path arrives at each numbered junction."""
    mark: Counts
    """(n,) number of the last flood that reached the arc."""
    queue: Counts
    """(n + 1,) arcs a flood has reached; the last is the number of floods."""
    sums: Reals
    """(K + C,)"""
    open_depth: Counts
    open_arc: Counts
    open_link: Counts
    open_bound: Reals
    cursor: Counts
    """[0] depth of the path, [1] number of open branches."""
    scratch: Reals
    """(J,)"""


class Found(NamedTuple):
    """The best loop so far, written by the kernels."""

    score: Reals
    """[0] its score, -inf before the first."""
    size: Counts
    """[0] its number of arcs, [1] how often it was bettered."""
    arcs: Counts
    """Its arcs, by their number in the graph."""
