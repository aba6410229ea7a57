"""A square code that hands the loop's start to a phone as a ``geo:`` address (RFC 5870).

Gets degrees and a box; gives dark rectangles. Promises: the quiet zone the code needs
(ISO/IEC 18004: four modules on each side) lies inside the box.
"""

from __future__ import annotations

import numpy as np
import segno

from loopwright.card.boxes import Box
from loopwright.model.picture import Mark, Shape

QUIET = 4
SEAM_MM = 0.02
"""Rows overlap by this much, so that no hair of paper shows between them."""


def geo_address(lat: float, lon: float) -> str:
    """Give the address with five decimals, about a metre; minus zero is written as zero."""
    return f"geo:{lat + 0.0:.5f},{lon + 0.0:.5f}".replace("-0.00000", "0.00000")


def code_marks(lat: float, lon: float, box: Box) -> tuple[Mark, ...]:
    """Draw the code as large as the box allows."""
    code = segno.make(geo_address(lat, lon), error="m", micro=False)
    rows = np.array([list(row) for row in code.matrix], dtype=bool)
    module = min(box.width, box.height) / (len(rows) + 2 * QUIET)
    left, top = box.left + QUIET * module, box.top + QUIET * module
    return tuple(
        _bar(left + first * module, top + y * module, (last - first) * module, module)
        for y, row in enumerate(rows)
        for first, last in _runs(row.tolist())
    )


def _runs(row: list[bool]) -> list[tuple[int, int]]:
    edges = np.flatnonzero(np.diff(np.array([False, *row, False], dtype=np.int8))).tolist()
    return list(zip(edges[::2], edges[1::2], strict=True))


def _bar(left: float, top: float, width: float, height: float) -> Shape:
    box = Box(left=left, top=top, width=width, height=height + SEAM_MM)
    return Shape(points=box.corners(), fill="#000000", layer="code")
