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

UNSEEN_PX = 0.25
"""A line moved by less than this on the screen looks the same."""


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
    return pixel_path([line * (1.0, -1.0) for line in lines])


def pixel_path(lines: Sequence[Floats]) -> QPainterPath:
    """Give one Qt path through lines ``(n, 2)`` as they are, each begun anew.

    Written as Qt's own stream form: a count, a kind (0 begins, 1 goes on) and a point for each,
    where the last line begins, and the rule of filling.
    """
    starts = np.cumsum([0, *(len(line) for line in lines if len(line))])
    made = QPainterPath()
    if starts[-1] == 0:
        return made
    points = np.ones(starts[-1], dtype=[("kind", ">i4"), ("at", ">f8", 2)])
    points["at"] = np.concatenate([line for line in lines if len(line)])
    points["kind"][starts[:-1]] = 0
    head, tail = np.array([starts[-1]], dtype=">i4"), np.array([starts[-2], 0], dtype=">i4")
    packed = QByteArray(head.tobytes() + points.tobytes() + tail.tobytes())
    stream = QDataStream(packed, QIODevice.OpenModeFlag.ReadOnly)
    stream >> made
    return made


def thin(lines: Sequence[Floats], off: float) -> list[Floats]:
    """Give lines ``(n, 2)`` with points left out that lie within ``off`` of what is left.

    Ends are kept, short lines stay as they are. All go through one call of the geometry library,
    which is ten times quicker than singly.
    """
    out = list(lines)
    long = [place for place, line in enumerate(lines) if len(line) >= 3]
    if not long:
        return out
    import shapely

    whole = shapely.linestrings(
        np.concatenate([lines[place] for place in long]),
        indices=np.repeat(np.arange(len(long)), [len(lines[place]) for place in long]),
    )
    points, owner = shapely.get_coordinates(
        shapely.simplify(whole, off, preserve_topology=False), return_index=True
    )
    cuts = np.searchsorted(owner, np.arange(1, len(long)))
    for place, line in zip(long, np.split(points, cuts), strict=True):
        out[place] = line
    return out


def apart(pixels: Floats) -> Floats:
    """Points ``(k, 2)`` in pixels, those in the pixel of the one before left out; ends stay."""
    if len(pixels) < 3:
        return pixels
    cell = np.round(pixels)
    moved = np.concatenate(([True], (np.diff(cell, axis=0) != 0).any(axis=1)))
    moved[-1] = True
    return np.asarray(pixels[moved])
