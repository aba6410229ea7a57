"""Round values for an axis.

Gets two ends; gives values between them a person would choose. Promises: as many as asked for, give
or take some, or as many as there is room for.
"""

from __future__ import annotations

import math

NICE = (1.0, 2.0, 2.5, 5.0, 10.0)
USUAL = (4, 3, 2)


def ticks(low: float, high: float, wanted: int) -> list[float]:
    """Round values between ``low`` and ``high``, about ``wanted`` of them."""
    span = max(high - low, 1e-9)
    power = 10.0 ** math.floor(math.log10(span / wanted))
    step = next(s * power for s in NICE if s * power >= span / wanted * 0.999)
    first = math.ceil(low / step - 1e-9)
    last = math.floor(high / step + 1e-9)
    return [round(n * step, 9) for n in range(first, last + 1)]


def ticks_apart(low: float, high: float, most: float) -> list[float]:
    """Round values between ``low`` and ``high``, about four, so that ``most`` would have room."""
    for wanted in USUAL:
        have = ticks(low, high, wanted)
        if len(have) < 2 or (high - low) / (have[1] - have[0]) <= most:
            return have
    return have[:1]
