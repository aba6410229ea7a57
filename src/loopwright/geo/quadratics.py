"""A quadratic fitted over a sliding window, and its middle value taken (Savitzky and Golay 1964).

Gets rows in order; gives as many smoothed ones. The widely used library for it brings half a second
of other loading with it, which would hold up whoever waits for a network.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from scipy.linalg import lstsq
from scipy.ndimage import convolve1d

from loopwright.model.arrays import Floats

ORDER = 2


def quadratics(rows: Floats, window: int) -> Floats:
    """Smooth ``rows`` ``(n, k)`` over ``window`` of them, odd and at most ``n``.

    Near the ends the quadratic of the first or last whole window goes on. Savitzky and Golay 1964,
    doi 10.1021/ac60214a047.
    """
    out = np.asarray(convolve1d(rows, _weights(window), axis=0, mode="constant"))
    half = window // 2
    run = np.arange(window, dtype=np.float64)
    out[:half] = np.polyval(np.polyfit(run, rows[:window], ORDER), run[:half, None])
    out[-half:] = np.polyval(np.polyfit(run, rows[-window:], ORDER), run[-half:, None])
    return out


@lru_cache(maxsize=256)
def _weights(window: int) -> Floats:
    """Weights ``(window,)`` that give the value of the fitted quadratic in the middle."""
    run = np.arange(-(window // 2), window // 2 + 1, dtype=np.float64)[::-1]
    powers = run ** np.arange(ORDER + 1.0)[:, None]
    return np.asarray(lstsq(powers, np.array([1.0, 0.0, 0.0]))[0])
