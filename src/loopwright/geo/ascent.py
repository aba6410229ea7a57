"""Ascent between turning points.

Gets smoothed heights; gives metres risen. Ascent has no answer of its own without a scale
(Rapaport 2010, arXiv:1011.4778), so the least rise that counts is always an argument.
"""

from __future__ import annotations

from collections.abc import Iterable


def ascent_m(ele_m: Iterable[float], *, least_m: float) -> float:
    """Sum of all rises of at least ``least_m`` > 0 between a low and the next high.

    A high ends where heights fall by ``least_m`` again, a low where they rise by it. No heights
    give 0; heights must not be NaN.
    """
    total, low, high, rising = 0.0, float("inf"), float("-inf"), 0
    for here in ele_m:
        if rising > 0:
            high = max(high, here)
            if high - here >= least_m:
                total, low, rising = total + high - low, here, -1
        elif rising < 0:
            low = min(low, here)
            if here - low >= least_m:
                high, rising = here, 1
        else:
            low, high = min(low, here), max(high, here)
            rising = int(here - low >= least_m) - int(high - here >= least_m)
    return total + (high - low if rising > 0 else 0.0)
