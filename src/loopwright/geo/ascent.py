"""Ascent between turning points.

Gets smoothed heights; gives metres risen. Ascent has no answer of its own without a scale
(Rapaport 2010, arXiv:1011.4778), so the least rise that counts is always an argument.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

LEAST_RISE_M = 0.5
"""Smaller rises are not told from the error of pooled heights, so ascent leaves them out: the scale
that is told wherever ascents show."""


def ascent_m(ele_m: Sequence[float], *, least_m: float) -> float:
    """Sum of the rises between turning points; ascent less descent is the net rise exactly.

    Heights turn where they have gone back by ``least_m`` > 0. What lies before the first and after
    the last turn counts as it is, so that a rise parted by a junction is not lost. No heights
    give 0; heights must not be NaN.
    """
    return sum(max(0.0, after - before) for before, after in pairwise(_turns(ele_m, least_m)))


def _turns(ele_m: Sequence[float], least_m: float) -> list[float]:
    """Heights at the start, at each turn, at the last high or low and at the end."""
    if len(ele_m) == 0:
        return []
    turns, low, high, rising = [ele_m[0]], ele_m[0], ele_m[0], 0
    for here in ele_m:
        low, high = min(low, here), max(high, here)
        if rising >= 0 and high - here >= least_m:
            turns.append(high)
            low, rising = here, -1
        elif rising <= 0 and here - low >= least_m:
            turns.append(low)
            high, rising = here, 1
    last = [high] if rising > 0 else [low] if rising < 0 else []
    return [*turns, *last, ele_m[-1]]
