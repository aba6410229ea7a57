"""Pull all rides onto common lines, jointly.

Gets samples and their errors; gives shifted positions. A receiver's error drifts slowly along a
ride, so one shift is solved over a window of the ride, long at first (which keeps the legs of a
hairpin and the two lines of a fork apart), then shorter. The first windows have a hole around the
sample itself.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loopwright.geo.planar import dots, left_of, unit
from loopwright.jobs import Report
from loopwright.model.arrays import Floats
from loopwright.network.company import Company, company
from loopwright.network.pairs import abreast, across_m
from loopwright.network.plots import Block
from loopwright.network.rows import Bools, Rows, parts
from loopwright.network.samples import Samples

ROUNDS = (
    (60, 20, 1.45), (50, 18, 1.3), (45, 16, 1.0), (40, 14, 0.8), (30, 8, 0.7),
    (20, 0, 0.6), (16, 0, 0.5), (12, 0, 0.45),
)  # fmt: skip
"""Half window and its hole in samples, and kernel width as a multiple of the error, coarse to fine.

With a hole, a sample's error is told from the riding before and after, never from the place itself:
an error fades over hundreds of metres, and two lines side by side for 80 to 240 m, which would pull
each other together, have the common trail on both sides to be laid by. Measured on
48 invented parks at 5 m of error: junction F .885 without the hole, .916 with it."""
HOLE_SHARE = 0.9
"""The hole is not quite empty, so that a ride seen by others only here still moves."""
STIFF = 0.2
"""Weight of staying put, against the number of neighbours seen per sample."""
OWN_OFFSET = 0.25
OWN_FADE_M = 250.0
"""Within one ride errors agree: a quarter of their variance stays all ride long, the rest fades
over a minute or so of riding. So near along the ride the kernel is narrow, and hairpins stay."""
REACH, REACH_M = 3.2, 20.0
"""Furthest neighbour looked at, in kernels and in metres."""
LOOK_AGAIN = (2, 5)
"""Rounds before which neighbours are looked for anew."""
TOGETHER = 6.0
"""No sample counts for more than this many neighbours."""
TOGETHER_ROWS = 50_000
"""Samples whose windows are solved at a time."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Aligned:
    """Positions ``xy`` and headings ``head`` ``(n, 2)`` after the pull."""

    xy: Floats
    head: Floats


def attract(
    samples: Samples, errors: Floats, kept: Company, *, report: Report, lanes: Bools | None = None
) -> Aligned:
    """Align ``samples``.

    ``errors`` ``(rides,)`` in metres; ``kept`` is the company passes keep as they lie at first;
    what ``lanes`` ``(n,)`` marks is not pulled by those who come the other way.
    """
    xy, head = samples.xy.copy(), samples.head
    sigma = errors[samples.ride]
    usual = 1.2 * float(np.percentile(sigma, 80))
    for number, (half, hole, width) in enumerate(ROUNDS):
        report.check()
        if number in LOOK_AGAIN:
            reach = min(REACH * width * usual, REACH_M)
            del kept  # before the next is made: these are the largest tables of a build
            kept = company(samples, head, abreast(samples, xy, head, reach_m=reach, lanes=lanes))
        mean, seen = _pull(samples, Aligned(xy=xy, head=head), kept, sigma=sigma, width=width)
        # With a hole, what is found is the whole shift: added round by round it would swing.
        start = samples.xy if hole else xy
        mean = mean + dots(xy - start, left_of(head))
        xy = start + windowed(mean, seen, head, samples.first, half=half, hole=hole)
        head = headings(xy, samples.first)
    return Aligned(xy=xy, head=head)


def _pull(
    samples: Samples, aligned: Aligned, kept: Company, *, sigma: Floats, width: float
) -> tuple[Floats, Floats]:
    """Give the move to the left each sample's neighbours ask for, and its weight, both ``(n,)``."""
    pull, seen = np.zeros(len(samples)), np.zeros(len(samples))
    for block in kept.pairs.blocks():
        i, j = block.i, block.j
        gap = across_m(aligned.xy, aligned.head, block)
        kernel = width * np.sqrt((sigma[i] ** 2 + sigma[j] ** 2) / 2)
        kernel = kernel * _own_factor(samples, block)
        trust = kept.belief(block) * np.exp(-0.5 * (gap / kernel) ** 2) / sigma[j] ** 2
        pull[block.low : block.high] = block.sums(trust * gap)
        seen[block.low : block.high] = block.sums(trust)
    mine = 1.0 / sigma**2
    return pull / (seen + mine), np.minimum(seen / mine, TOGETHER)


def _own_factor(samples: Samples, block: Block) -> Floats:
    """Share of the usual spread left between two passes of one ride; 1 for different rides."""
    i, j = block.i, block.j
    apart = np.abs(samples.dist[i] - samples.dist[j])
    apart = np.where(samples.piece[i] == samples.piece[j], apart, np.inf)
    alike = OWN_OFFSET + (1.0 - OWN_OFFSET) * np.exp(-apart / OWN_FADE_M)
    own = samples.ride[i] == samples.ride[j]
    return np.where(own, np.sqrt(1.0 - np.minimum(alike, 0.9)), 1.0)


def windowed(
    mean: Floats, weight: Floats, head: Floats, first: Rows, *, half: int, hole: int = 0
) -> Floats:
    """Solve one small least-squares shift per sample over its window along the ride.

    ``mean`` ``(n,)`` is the wanted move to the left in metres with ``weight`` ``(n,)``; gives
    moves ``(n, 2)``. Windows of ``half`` samples either way stop at the ends of a piece; of the
    ``hole`` samples either way nearest the middle little is believed.
    """
    out = np.empty((len(mean), 2))
    for a, b in parts(first, TOGETHER_ROWS):
        rows, mine = slice(first[a], first[b]), first[a : b + 1] - first[a]
        out[rows] = _windowed(mean[rows], weight[rows], head[rows], mine, half=half, hole=hole)
    return out


def _windowed(
    mean: Floats, weight: Floats, head: Floats, first: Rows, *, half: int, hole: int
) -> Floats:
    left = left_of(head)
    terms = np.column_stack((
        weight * left[:, 0] ** 2, weight * left[:, 0] * left[:, 1], weight * left[:, 1] ** 2,
        weight * mean * left[:, 0], weight * mean * left[:, 1], np.ones(len(mean)),
    ))  # fmt: skip
    total = np.vstack((np.zeros(6), np.cumsum(terms, axis=0)))
    low, high = window_rows(first, half)
    seen = total[high] - total[low]
    if hole:
        low, high = window_rows(first, hole)
        seen -= HOLE_SHARE * (total[high] - total[low])
    xx, xy, yy, bx, by, count = seen.T
    stiff = STIFF * count * 0.5
    xx, yy = xx + stiff, yy + stiff
    det = xx * yy - xy * xy
    return np.column_stack(((yy * bx - xy * by) / det, (xx * by - xy * bx) / det))


def window_rows(first: Rows, half: int) -> tuple[Rows, Rows]:
    """Rows from and to (exclusive) of the window of each sample, within its piece."""
    rows = np.arange(first[-1])
    sizes = np.diff(first)
    start, stop = np.repeat(first[:-1], sizes), np.repeat(first[1:], sizes)
    return np.maximum(rows - half, start), np.minimum(rows + half + 1, stop)


def window_sums(values: Floats, first: Rows, half: int) -> Floats:
    """Sum ``values`` ``(n,)`` or ``(n, k)`` over the window of each sample, within its piece."""
    total = np.concatenate((np.zeros((1, *values.shape[1:])), np.cumsum(values, axis=0)))
    low, high = window_rows(first, half)
    return np.asarray(total[high] - total[low])


def headings(xy: Floats, first: Rows) -> Floats:
    """Give the unit direction of travel at every sample, taken two samples back and two on."""
    low, high = window_rows(first, 1)
    return unit(xy[high - 1] - xy[low])
