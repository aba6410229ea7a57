"""Part a ride where nothing was recorded.

Gets a strand; gives it with cuts, never bridges, wherever the way between two points is unknown.
"""

from __future__ import annotations

import numpy as np

from loopwright.clean.spikes import FASTEST_M_S
from loopwright.clean.strand import Strand, steps_m
from loopwright.model.arrays import Floats
from loopwright.model.track import FaultKind

GAP_S, GAP_M = 6.0, 20.0
WIDE_M = 60.0
"""Beyond these the line between two points may cut a corner by more than the errors."""
SPARSE_S, SPARSE_M = 4.0, 18.0
"""Slower than this, or wider, and a recording is told to be sparse."""
STEPS = 3.5
"""A gap in a sparse recording is this many of its usual steps."""


def with_gaps(strand: Strand) -> Strand:
    """Cut at gaps; say whether the recording is sparse."""
    if len(strand) < 2:
        return strand
    step = steps_m(strand.xy)
    usual_m = _usual(step[step > 0.5])
    pause = np.diff(strand.time) if strand.timed else np.zeros(len(step))
    usual_s = _usual(pause[pause > 0])
    wide = step > max(WIDE_M, STEPS * usual_m)
    slow = (pause > max(GAP_S, STEPS * usual_s)) & (step > max(GAP_M, 1.5 * usual_m))
    with np.errstate(divide="ignore", invalid="ignore"):
        fast = (step / pause > FASTEST_M_S) & (step > GAP_M) if strand.timed else slow
    gap = np.concatenate(([False], wide | slow | fast)) & ~strand.cut
    strand = strand.part_before(gap)
    count = int(gap.sum())
    if count:
        words = f"{count} gap{'s' if count > 1 else ''} in the recording; nothing drawn across"
        strand = strand.note(FaultKind.GAP, words, count)
    return _sparse(strand, usual_s, usual_m)


def _usual(values: Floats) -> float:
    return float(np.median(values)) if len(values) else 0.0


def _sparse(strand: Strand, usual_s: float, usual_m: float) -> Strand:
    if usual_s < SPARSE_S and usual_m < SPARSE_M:
        return strand
    every = f"every {usual_s:.0f} s" if usual_s >= 1 else f"every {usual_m:.0f} m"
    return strand.note(FaultKind.SPARSE, f"a point only {every}: counts less for the shape")
