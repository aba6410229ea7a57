"""Believe heights only where they say something.

Gets a strand; gives it with senseless heights set to NaN.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from scipy.ndimage import median_filter

from loopwright.clean.strand import Bools, Strand, points
from loopwright.model.arrays import Floats
from loopwright.model.track import FaultKind

LOWEST_M, HIGHEST_M = -450.0, 9000.0
"""Below the Dead Sea's shore and above Everest there are no trails."""
SPIKE_M = 15.0
"""No trail leaves the median of five heights by this much."""
LEAST_SHARE = 0.2


def with_heights(strand: Strand) -> Strand:
    """Set heights that cannot be to NaN, and all of them if few are left."""
    if len(strand) == 0:
        return strand
    ele = strand.ele
    good = np.isfinite(ele) & (np.where(np.isfinite(ele), ele, 0) > LOWEST_M)
    good &= np.where(np.isfinite(ele), ele, np.inf) < HIGHEST_M
    good &= ~_false_zero(ele, good)
    good &= ~_spiked(ele, good)
    if good.mean() < LEAST_SHARE or (np.ptp(ele[good]) < 1e-6 and not _flat_is_true(ele[good])):
        bare = replace(strand, ele=np.full(len(strand), np.nan))
        return bare.note(FaultKind.NO_HEIGHT, "no usable heights")
    lost = int((~good).sum())
    if lost == 0:
        return strand
    words = f"{points(lost)} without a usable height"
    kept = replace(strand, ele=np.where(good, ele, np.nan))
    return kept.note(FaultKind.NO_HEIGHT, words, lost)


def _false_zero(ele: Floats, good: Bools) -> Bools:
    """Mark exact zeros among heights that are not near zero."""
    zero = good & (ele == 0.0)
    rest = ele[good & ~zero]
    near_sea = len(rest) > 0 and float(np.percentile(np.abs(rest), 10)) < 5.0
    return np.asarray(zero & (not near_sea))


def _spiked(ele: Floats, good: Bools) -> Bools:
    if good.sum() < 5:
        return np.zeros_like(good)
    rows = np.arange(len(ele))
    filled = np.interp(rows, rows[good], ele[good])
    middle = median_filter(filled, size=5, mode="nearest")
    return np.asarray(np.abs(filled - middle) > SPIKE_M)


def _flat_is_true(ele: Floats) -> bool:
    """Believe a constant height unless it is zero: a track round a lake is flat."""
    return len(ele) > 0 and float(ele[0]) != 0.0
