"""Whose heights lie off the others'.

Gets clean tracks; gives for each the metres its heights read high (positive) or low against the
other rides on the same ground, 0 where that is little or unknown.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from loopwright.clean.strand import Rows
from loopwright.model.arrays import Floats
from loopwright.model.track import CleanTrack

CELL_M = 20.0
TELL_M = 8.0
"""Consumer barometers agree to a few metres; a larger offset is worth a line in the report."""
LEAST_CELLS = 10


def height_offsets(tracks: Sequence[CleanTrack]) -> Floats:
    """Find offsets ``(len(tracks),)`` in metres, 0 unless larger than ``TELL_M``."""
    cells, ride, ele = _cell_heights(tracks)
    told = np.zeros(len(tracks))
    if len(cells) == 0:
        return told
    offset = np.zeros(len(tracks))
    for _ in range(3):
        middle = _medians(cells, ele - offset[ride], int(cells.max()) + 1)
        offset = _medians(ride, ele - middle[cells], len(tracks))
        offset -= float(np.median(offset[np.bincount(ride, minlength=len(tracks)) > 0]))
    rides_there = np.bincount(cells, minlength=int(cells.max()) + 1)
    shared = np.bincount(ride, rides_there[cells] > 1, len(tracks))
    use = (shared >= LEAST_CELLS) & (np.abs(offset) > TELL_M)
    told[use] = offset[use]
    return told


def _cell_heights(tracks: Sequence[CleanTrack]) -> tuple[Rows, Rows, Floats]:
    """One mean height per ride and cell: cell numbers, ride numbers, heights."""
    each = [_means(track) for track in tracks]
    rides = np.repeat(np.arange(len(each)), [len(keys) for keys, _ in each])
    if not each:
        return rides, rides, np.zeros(0)
    names = np.concatenate([keys for keys, _ in each])
    ele = np.concatenate([heights for _, heights in each])
    return np.unique(names, return_inverse=True)[1].astype(np.int64), rides, ele


def _means(track: CleanTrack) -> tuple[Floats, Floats]:
    """Name and mean height of every cell a ride knows the height of."""
    xy = np.concatenate([np.zeros((0, 2)), *(piece.xy for piece in track.pieces)])
    ele = np.concatenate([np.zeros(0), *(piece.ele_m for piece in track.pieces)])
    known = np.isfinite(ele)
    place = np.floor(xy[known] / CELL_M)
    keys, group = np.unique(place[:, 0] * 1e7 + place[:, 1], return_inverse=True)
    return keys, np.bincount(group, ele[known], len(keys)) / np.bincount(group, minlength=len(keys))


def _medians(group: Rows, values: Floats, size: int) -> Floats:
    order = np.lexsort((values, group))
    count = np.bincount(group, minlength=size)
    start = np.concatenate(([0], np.cumsum(count)[:-1]))
    low = np.minimum(start + np.maximum(count - 1, 0) // 2, len(values) - 1)
    high = np.minimum(start + count // 2, len(values) - 1)
    middle = (values[order][low] + values[order][high]) / 2
    return np.where(count > 0, middle, 0.0)
