"""Many points as one Qt line, without a Python object for each.

Gets points ``(n, 2)`` in pixels or scene metres; gives Qt's polygons and paths. Promises: the
figures are Qt's own doubles, unchanged; long lines hold the window up no longer than short ones do.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from PySide6.QtCore import QByteArray, QDataStream, QIODevice
from PySide6.QtGui import QPainterPath, QPolygonF

from loopwright.model.arrays import Floats


def polygon(points: Floats) -> QPolygonF:
    """Give points ``(n, 2)`` as a Qt polygon; none give an empty one.

    Written as Qt's own stream form, a count and big-endian doubles, which Qt reads in one go.
    """
    head = np.array([len(points)], dtype=">u4").tobytes()
    packed = QByteArray(head + np.ascontiguousarray(points, dtype=">f8").tobytes())
    made = QPolygonF()
    stream = QDataStream(packed, QIODevice.OpenModeFlag.ReadOnly)
    stream >> made
    return made


def path_of(lines: Sequence[Floats]) -> QPainterPath:
    """Give one Qt path through lines ``(n, 2)`` in local metres; screens count downwards."""
    path = QPainterPath()
    for line in lines:
        if len(line) > 0:
            path.addPolygon(polygon(line * (1.0, -1.0)))
    return path


def apart(pixels: Floats) -> Floats:
    """Points ``(k, 2)`` in pixels, those in the pixel of the one before left out; ends stay."""
    if len(pixels) < 3:
        return pixels
    cell = np.round(pixels)
    moved = np.concatenate(([True], (np.diff(cell, axis=0) != 0).any(axis=1)))
    moved[-1] = True
    return np.asarray(pixels[moved])
