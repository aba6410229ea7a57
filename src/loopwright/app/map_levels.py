"""Lines at four levels of detail.

Gets lines in local metres, gives thinner ones for coarser views. Promises: a level is chosen so
that what it leaves out is under half a pixel.
"""

from __future__ import annotations

from collections.abc import Sequence

from loopwright.app.lines import thin
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


def thinned(lines: Sequence[Floats], level: int) -> list[Floats]:
    """Give lines ``(n, 2)`` at a level, all at once; ends are kept."""
    return thin(lines, TOLERANCES_M[level]) if level else list(lines)
