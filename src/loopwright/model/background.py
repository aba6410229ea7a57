"""What lies under the trails on the map: a source of square tiles."""

from __future__ import annotations

from typing import Protocol, TypeAlias

import numpy as np
from numpy.typing import NDArray

Pixels: TypeAlias = NDArray[np.uint8]
"""Red, green, blue and opacity of a tile, shape ``(256, 256, 4)``."""


class TileSource(Protocol):
    """Gives tiles of the square world (WebMercatorQuad); any thread may ask."""

    credit: str
    """Whom the picture must name, as plain text; empty if the source names nobody."""
    least_zoom: int
    """The coarsest zoom it has."""
    most_zoom: int
    """The finest zoom it has; a finer view stretches it."""

    def tile(self, zoom: int, column: int, row: int) -> bytes | Pixels | None:
        """Return a tile as a PNG, JPEG or WebP file, or as pixels; None where there is none."""
