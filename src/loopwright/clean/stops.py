"""Fold standing still into one place.

Gets a strand; gives it without repeated positions, and with pauses folded to their first and last
moment at one place, so that scatter draws no knots and elapsed time stays true.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from loopwright.clean.rests import resting
from loopwright.clean.strand import Bools, Strand, points, runs_of, steps_m
from loopwright.model.arrays import Floats
from loopwright.model.track import FaultKind

FREEZE_S = 5.0
FREEZE_JUMP_M = 15.0
"""A receiver that holds one position this long and then jumps this far was frozen."""
SAME_M = 0.005
PAUSES = ((10.0, 6.0), (30.0, 14.0))
"""Half window in seconds and reach in metres: within it the rider stands. A receiver under trees
wanders about 2 m in 20 s and 10 m in a minute; the slowest climber rides 1 m/s."""


def without_repeats(strand: Strand) -> Strand:
    """Drop positions that repeat the one before; part the ride after a freeze."""
    step = steps_m(strand.xy)
    same = np.concatenate(([False], step < SAME_M)) & ~strand.cut
    if not same.any():
        return strand
    strand, frozen = _frozen(strand, same)
    lost = int(same.sum())
    if frozen:
        words = f"receiver froze {frozen} time{'s' if frozen > 1 else ''}; the jump after is cut"
        strand = strand.note(FaultKind.FREEZE, words, frozen)
    share = lost / len(strand)
    words = f"{points(lost)} repeating the position before dropped"
    if share > 0.3:
        words += " (recorded slower than written)"
    last_of_rest = np.append(~same[1:], True) & same
    # The last row of a long rest keeps its time; rows in between say nothing.
    rest = _long_rest(strand, same)
    good = ~same | (last_of_rest & rest)
    return strand.keep(good).note(FaultKind.REPEATED, words, lost)


def _long_rest(strand: Strand, same: Bools) -> Bools:
    rest = np.zeros(len(strand), dtype=bool)
    if not strand.timed:
        return rest
    for start, stop in runs_of(same):
        rest[start:stop] = strand.time[stop - 1] - strand.time[start - 1] >= FREEZE_S
    return rest


def _frozen(strand: Strand, same: Bools) -> tuple[Strand, int]:
    if not strand.timed:
        return strand, 0
    step = steps_m(strand.xy)
    part = np.zeros(len(strand), dtype=bool)
    for start, stop in runs_of(same):
        held = strand.time[stop - 1] - strand.time[start - 1]
        if stop < len(strand) and held >= FREEZE_S and step[stop - 1] > FREEZE_JUMP_M:
            part[stop] = True
    return strand.part_before(part), int(part.sum())


def without_pauses(strand: Strand) -> Strand:
    """Fold every pause to its first and last row, both at its middle."""
    if not strand.timed or len(strand) < 4:
        return strand
    still = np.zeros(len(strand), dtype=bool)
    for half_s, reach_m in PAUSES:
        still |= _still(strand, half_s, reach_m)
    still |= resting(strand)
    runs = [(a, b) for a, b in runs_of(still) if b - a > 2]
    if not runs:
        return strand
    good, xy = np.ones(len(strand), dtype=bool), np.array(strand.xy)
    for start, stop in runs:
        xy[[start, stop - 1]] = np.median(xy[start:stop], axis=0)
        good[start + 1 : stop - 1] = False
    total = sum(strand.time[b - 1] - strand.time[a] for a, b in runs)
    times = "once" if len(runs) == 1 else f"{len(runs)} times"
    long = f"{total:.0f} s" if total < 90 else f"{total / 60:.0f} min"
    words = f"stood still {times}, {long} in all; scatter folded"
    return replace(strand, xy=xy).keep(good).note(FaultKind.PAUSE, words, len(runs))


def _still(strand: Strand, half_s: float, reach_m: float) -> Bools:
    """Mark rows about which the rider stays within reach for the whole window."""
    time = strand.time
    inside = (time - half_s >= time[0]) & (time + half_s <= time[-1])
    calm = inside.copy()
    for share in (-1.0, -0.7, -0.4, -0.15, 0.15, 0.4, 0.7, 1.0):
        calm &= _offset_m(strand, share * half_s) < reach_m
    still = np.zeros(len(time), dtype=bool)
    for start, stop in runs_of(calm):
        low = int(np.searchsorted(time, time[start] - half_s * 0.7))
        high = int(np.searchsorted(time, time[stop - 1] + half_s * 0.7, side="right"))
        still[low:high] = True
    return still


def _offset_m(strand: Strand, shift_s: float) -> Floats:
    there = [np.interp(strand.time + shift_s, strand.time, strand.xy[:, k]) for k in (0, 1)]
    return np.hypot(there[0] - strand.xy[:, 0], there[1] - strand.xy[:, 1])
