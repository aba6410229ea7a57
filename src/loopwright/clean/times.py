"""Put rows in the order of their times.

Gets a strand; gives one whose times rise within and between pieces, or which has none at all.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import replace

import numpy as np

from loopwright.clean.strand import Bools, Rows, Strand, points
from loopwright.model.arrays import Floats
from loopwright.model.track import FaultKind

FEW_TIMES = 0.5
"""A recording where fewer rows than this share know their time is read as having none."""


def in_time(strand: Strand) -> Strand:
    """Drop rows whose time does not rise; forget times that say nothing."""
    known = np.isfinite(strand.time)
    if len(strand) == 0:
        return strand
    if known.mean() < FEW_TIMES or len(np.unique(strand.time[known])) < 3:
        bare = replace(strand, time=np.full(len(strand), np.nan))
        return bare.note(FaultKind.NO_TIME, "no usable times: shape counts, speed is unknown")
    strand = _filled(strand, known)
    strand = _pieces_sorted(strand)
    if (np.diff(strand.time) > 0).all():
        return strand
    rows = _rising(strand.time)
    lost = len(strand) - len(rows)
    words = f"{points(lost)} with a time out of order or twice dropped"
    return strand.keep(rows).note(FaultKind.TIME_ORDER, words, lost)


def _filled(strand: Strand, known: Bools) -> Strand:
    if known.all():
        return strand
    lost = int((~known).sum())
    return strand.keep(known).note(
        FaultKind.NO_TIME, f"{points(lost)} without a time dropped", lost
    )


def _pieces_sorted(strand: Strand) -> Strand:
    starts = np.flatnonzero(strand.cut)
    first = strand.time[starts]
    if len(starts) < 2 or (np.diff(first) >= 0).all():
        return strand
    stops = np.append(starts[1:], len(strand))
    order = np.argsort(first, kind="stable")
    rows = np.concatenate([np.arange(starts[k], stops[k]) for k in order])
    words = "segments recorded later came first in the file; put in order"
    return strand.keep(rows).note(FaultKind.TIME_ORDER, words)


def _rising(time: Floats) -> Rows:
    """Rows of a longest strictly rising run of times (patience sorting, O(n log n))."""
    tails: list[float] = []
    holder: list[int] = []
    before = np.full(len(time), -1, dtype=np.int64)
    for row, now in enumerate(time.tolist()):
        at = bisect_left(tails, now)
        before[row] = holder[at - 1] if at else -1
        if at == len(tails):
            tails.append(now)
            holder.append(row)
        else:
            tails[at], holder[at] = now, row
    rows, row = [], holder[-1]
    while row >= 0:
        rows.append(row)
        row = int(before[row])
    return np.array(rows[::-1], dtype=np.int64)
