"""Find where two trails fork and meet again.

Gets a corridor and its passes in two groups; gives where the groups part. The gap between two
trails sways a little, most in bends; a span chosen by its sharpest change would miss a fork.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loopwright.model.arrays import Floats
from loopwright.network.corridors import Corridor, Reading
from loopwright.network.rows import Rows
from loopwright.network.spans import FLANK_M, LENGTHS_M, agreement, profile

AROUND_M = 150.0
"""So far beyond a span its ends are looked for."""
SWAY_M, SWAY_FADE_M = 2.5, 50.0
"""How far the gap between two trails usually strays from its mean, and over what length."""
EVERY = 2
"""The gap is read at every second place."""
MOVES_M = ((AROUND_M, 10.0), (10.0, 5.0))
"""One end after the other is moved so far at most, by these steps."""
TURNS = 3
"""How often both ends are moved."""
FULL = 0.9
"""A pass over this share of the ground around is compared on all of it."""
LEAST = 2
"""With so many such passes in a group the others are not heard."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Gap:
    """The ``gap`` from the one group to the other at ``dist``, metres; how its errors agree.

    ``sway`` is how far the gap itself may stray from its mean.
    """

    dist: Floats
    gap: Floats
    alike: Floats
    sway: Floats


def best_span(corridor: Corridor, side: Rows, span: Floats) -> Floats:
    """Give the span ``(2,)`` in metres that explains best how two groups of passes lie.

    ``side`` ``(readings,)`` is -1 and 1 for passes of the two groups, 0 for others.
    """
    seen = _seen(corridor, side, span)
    low_m = max(FLANK_M, span[0] - AROUND_M)
    high_m = min(corridor.dist[-1] - FLANK_M, span[1] + AROUND_M)
    for reach_m, step_m in MOVES_M:
        moves = np.arange(-reach_m, reach_m + 1.0, step_m)
        for _ in range(TURNS):
            before = span
            for end in (0, 1):
                tried = _tried(span, end, moves)
                fits = (tried[:, 0] >= low_m) & (tried[:, 1] <= high_m)
                tried = tried[fits & (tried[:, 1] - tried[:, 0] >= LENGTHS_M[0])]
                shapes = profile(seen.dist[None], tried[:, :1], tried[:, 1:])
                likely = [_likely(seen, shape) for shape in shapes]
                span = tried[int(np.argmax(likely))] if likely else span
            if (before == span).all():
                break
    return span


def _seen(corridor: Corridor, side: Rows, span: Floats) -> _Gap:
    dist = corridor.dist
    around = (dist >= span[0] - AROUND_M) & (dist <= span[1] + AROUND_M)
    rows = np.flatnonzero(around)[::EVERY]
    gap, spread = _gap(corridor, side, rows)
    known = np.isfinite(gap)
    rows, gap, spread = rows[known], gap[known], spread[known]
    apart = np.abs(np.subtract.outer(dist[rows], dist[rows]))
    return _Gap(
        dist=dist[rows], gap=gap, alike=agreement(corridor, rows) * np.outer(spread, spread),
        sway=SWAY_M**2 * np.exp(-apart / SWAY_FADE_M),
    )  # fmt: skip


def _tried(span: Floats, end: int, moves: Floats) -> Floats:
    tried = np.repeat(span[None], len(moves), axis=0)
    tried[:, end] += moves
    return tried


def _gap(corridor: Corridor, side: Rows, rows: Rows) -> tuple[Floats, Floats]:
    """Metres from the one group to the other at ``rows``, and its spread against one pass."""
    mean, share = [], []
    for group in (-1, 1):
        mine = [corridor.readings[k] for k in np.flatnonzero(side == group).tolist()]
        mine = [one for one in mine if one.close] or mine
        full = [one for one in mine if _rides(one, rows) >= FULL * len(rows)]
        total, weight = np.zeros(len(rows)), np.zeros(len(rows))
        for one in full if len(full) >= LEAST else mine:
            here = (rows >= one.low) & (rows < one.high)
            at = rows[here] - one.low
            total[here] += one.recorded[at] / one.sigma[at] ** 2
            weight[here] += 1.0 / one.sigma[at] ** 2
        known = weight > 0
        mean.append(np.where(known, total / np.where(known, weight, 1.0), np.nan))
        share.append(1.0 / np.where(known, weight, 1.0))
    return mean[1] - mean[0], np.sqrt(share[0] + share[1])


def _rides(one: Reading, rows: Rows) -> int:
    return int(((rows >= one.low) & (rows < one.high)).sum())


def _likely(seen: _Gap, shape: Floats) -> float:
    """Logarithm of the likelihood of a gap when its trails part by one shape."""
    root = np.linalg.cholesky(seen.alike + seen.sway * np.outer(shape, shape))
    both = np.linalg.solve(root, np.column_stack((shape, seen.gap)))
    size = float(both[:, 0] @ both[:, 0])
    told = float(both[:, 0] @ both[:, 1]) ** 2 / max(size, 1e-9)
    return 0.5 * (told - float(both[:, 1] @ both[:, 1])) - float(np.log(np.diag(root)).sum())
