"""Find long rests at which the receiver wanders.

Gets a strand with times; marks the rows of rests too scattered to pass for standing still: within
minutes under trees a receiver strays by tens of metres, and who rests walks about. Promises: riding
round and round on the spot is no rest.
"""

from __future__ import annotations

import numpy as np

from loopwright.clean.strand import Bools, Rows, Strand, runs_of
from loopwright.model.arrays import Floats

STEP_S = 5.0
AROUND_S, AROUND_M = 90.0, 40.0
"""Whoever stays within this reach so long before and after, and moves as slowly as below, rests."""
CHORDS = ((20.0, 0.45, 0.4), (10.0, 0.9, 0.8))
"""Seconds, how fast a rest may seem over them in metres a second, and as a share of the usual. An
error of 8 m that fades in a minute moves by 8 m in 20 s and by 6 m in 10 s; the slowest climber
rides 1 m/s. The shorter one tells small circles, which come back to where they were."""
EDGE = 0.8
"""So much of the reach in time around a slow moment belongs to the rest."""
MOST_S = 200_000.0
"""Recordings that say they last longer than two days have times that tell nothing here."""


def resting(strand: Strand) -> Bools:
    """Mark the rows ``(n,)`` at which the rider rests."""
    time = strand.time
    still = np.zeros(len(time), dtype=bool)
    if not 2 * AROUND_S < time[-1] - time[0] < MOST_S:
        return still
    at_s = np.arange(time[0], time[-1] + STEP_S, STEP_S)
    xy = np.column_stack([np.interp(at_s, time, strand.xy[:, k]) for k in (0, 1)])
    for start, stop in runs_of(_slow(xy) & _near(xy)):
        low = int(np.searchsorted(time, at_s[start] - EDGE * AROUND_S))
        high = int(np.searchsorted(time, at_s[stop - 1] + EDGE * AROUND_S, side="right"))
        still[low:high] = True
    return still


def _slow(xy: Floats) -> Bools:
    """Tell of places ``(m, 2)``, one each ``STEP_S``, about which of them one moves slowly."""
    slow = np.ones(len(xy), dtype=bool)
    for chord_s, most, share in CHORDS:
        speed = _speed(xy, round(chord_s / 2 / STEP_S))
        slow &= _mean_about(speed) < min(most, share * float(np.median(speed)))
    return slow


def _speed(xy: Floats, half: int) -> Floats:
    """Metres a second ``(m,)`` along the chord from ``half`` places before to as many after."""
    padded = np.pad(xy, ((half, half), (0, 0)), mode="edge")
    return np.asarray(np.hypot(*(padded[2 * half :] - padded[: -2 * half]).T) / (2 * half * STEP_S))


def _reach(size: int) -> tuple[Rows, Rows]:
    """First and last place (exclusive) within reach in time of each ``(size,)``."""
    half, row = round(AROUND_S / STEP_S), np.arange(size)
    return np.maximum(row - half, 0), np.minimum(row + half + 1, size)


def _mean_about(values: Floats) -> Floats:
    """Mean of the values within reach in time."""
    total = np.concatenate(([0.0], np.cumsum(values)))
    low, high = _reach(len(values))
    return np.asarray((total[high] - total[low]) / (high - low))


def _near(xy: Floats) -> Bools:
    """Tell of each place whether all within reach in time lie within reach of it."""
    low, high = _reach(len(xy))
    size = int(high[0] - low[0])
    near = np.ones(len(xy), dtype=bool)
    for shift in range(-size, size + 1):
        other = np.clip(np.arange(len(xy)) + shift, low, high - 1)
        near &= np.hypot(*(xy[other] - xy).T) < AROUND_M
    return near
