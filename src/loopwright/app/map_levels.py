"""Lines at four levels of detail.

Gets lines in local metres, gives thinner ones for coarser views. Promises: a level is chosen so
that what it leaves out is under half a pixel.
"""

from __future__ import annotations

import numpy as np

from loopwright.model.arrays import Floats

TOLERANCES_M = (0.0, 0.8, 3.0, 10.0)
"""Douglas-Peucker tolerance per level; level 0 is the line itself."""


def level_for(metres_a_pixel: float) -> int:
    """Choose the coarsest level that leaves out less than half a pixel."""
    level = 0
    for number, tolerance in enumerate(TOLERANCES_M):
        if tolerance <= metres_a_pixel / 2:
            level = number
    return level


def thinned(xy: Floats, level: int) -> Floats:
    """Give the line ``(n, 2)`` at a level; ends are kept, a short line stays as it is."""
    if TOLERANCES_M[level] == 0.0 or len(xy) < 3:
        return xy
    from shapely import LineString, get_coordinates, simplify

    line = simplify(LineString(xy), TOLERANCES_M[level], preserve_topology=False)
    return np.asarray(get_coordinates(line), dtype=np.float64)
