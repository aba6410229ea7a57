"""The median of a table too large to copy.

Gets numbers; gives their median, the same to the bit as numpy's, which sorts a copy. A table of
gaps between rides is the largest of a build.
"""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Small: TypeAlias = NDArray[np.float32]
PARTS = 1000
"""The range of the numbers is cut into so many parts, of which one or two are looked at."""


def middle(values: Small) -> np.float32:
    """Give the median of ``values`` ``(n,)``, all finite; raises ValueError when there are none."""
    if len(values) == 0:
        message = "no numbers to take the median of"
        raise ValueError(message)
    count, edges = np.histogram(values, PARTS)
    ranks = np.array([(len(values) - 1) // 2, len(values) // 2])
    low, high = np.searchsorted(np.cumsum(count), ranks, side="right")
    inside = values[(values >= edges[low]) & (values <= edges[high + 1])]
    below = np.count_nonzero(values < edges[low])
    return np.float32(np.sort(inside)[ranks - below].mean())
