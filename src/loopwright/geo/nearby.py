"""Which lines lie near which points.

Gets lines and points in local metres; gives every locally nearest place on every line within a
distance, so that both legs of a hairpin are found. Promises the same order for the same input.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from loopwright.geo import polyline
from loopwright.geo.planar import dots
from loopwright.model.arrays import Floats, Ints

PART = 1000
"""The geometry library keeps the interpreter for itself while it makes or asks this many."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Places:
    """Places found, all ``(k,)``, sorted by point, line and run.

    ``point`` and ``line`` are indices; ``run_m`` metres along the line; ``off_m`` metres off it,
    never negative; ``heading`` of the line there in radians.
    """

    point: Ints
    line: Ints
    run_m: Floats
    off_m: Floats
    heading: Floats


class LineIndex:
    """Lines ``(n, 2)`` in metres, n >= 2, ready to be asked what lies near a point."""

    def __init__(self, lines: Sequence[Floats]) -> None:
        self.lengths_m = np.array([polyline.length_m(line) for line in lines])
        self._start = np.concatenate([line[:-1] for line in lines] or [np.zeros((0, 2))])
        self._step = np.concatenate([np.diff(line, axis=0) for line in lines] or [np.zeros((0, 2))])
        self._line = np.repeat(np.arange(len(lines)), [len(line) - 1 for line in lines])
        runs = [polyline.along(line)[:-1] for line in lines]
        self._run = np.concatenate(runs or [np.zeros(0)])
        pairs = np.stack((self._start, self._start + self._step), axis=1)
        self._tree = shapely.STRtree(
            np.concatenate([shapely.linestrings(part) for part in _parts(pairs)])
        )

    def near(self, points: Floats, *, within_m: float) -> Places:
        """Places within ``within_m`` of ``points`` ``(k, 2)``: the local minima of the distance."""
        asked = [
            self._tree.query(shapely.points(part), "dwithin", distance=within_m)
            for part in _parts(points)
        ]
        found = np.concatenate(
            [hits + np.array([[number * PART], [0]]) for number, hits in enumerate(asked)], axis=1
        )
        order = np.lexsort((found[1], found[0]))
        point, segment = found[0][order], found[1][order]
        share, off = self._foot(points[point], segment)
        keep = self._nearest(point, segment, off)
        point, segment, share, off = point[keep], segment[keep], share[keep], off[keep]
        step = self._step[segment]
        return Places(
            point=point.astype(np.int32),
            line=self._line[segment].astype(np.int32),
            run_m=self._run[segment] + share * np.hypot(step[:, 0], step[:, 1]),
            off_m=off,
            heading=np.arctan2(step[:, 1], step[:, 0]),
        )

    def _foot(self, points: Floats, segment: Ints) -> tuple[Floats, Floats]:
        start, step = self._start[segment], self._step[segment]
        size2 = np.maximum(dots(step, step), 1e-18)
        share = np.clip(dots(points - start, step) / size2, 0.0, 1.0)
        rest = points - start - share[:, None] * step
        return share, np.hypot(rest[:, 0], rest[:, 1])

    def _nearest(
        self, point: Ints, segment: Ints, off: Floats
    ) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
        line = self._line[segment]
        next_to = (np.diff(point) == 0) & (np.diff(line) == 0) & (np.diff(segment) == 1)
        keep = np.ones(len(off), dtype=bool)
        keep[1:] &= ~(next_to & (off[:-1] <= off[1:]))
        keep[:-1] &= ~(next_to & (off[1:] < off[:-1]))
        return keep


def _parts(rows: Floats) -> list[Floats]:
    """Rows in parts of ``PART``; none give one empty part."""
    return [rows[first : first + PART] for first in range(0, max(len(rows), 1), PART)]
