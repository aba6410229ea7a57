"""A race lap as a course of its own.

Gets one cleaned recording, gives a network of one ring: what a race asks is then measured by the
same rooms as any loop. Promises: a recording that neither repeats nor closes gives None.
"""

from __future__ import annotations

import numpy as np
from scipy.spatial import cKDTree

from loopwright.geo import polyline
from loopwright.model.arrays import Floats
from loopwright.model.frame import Origin
from loopwright.model.ids import JunctionId, StretchId
from loopwright.model.network import Junction, Network, Stretch
from loopwright.model.track import CleanTrack

CLOSE_M = 80.0
"""Ends this near make a lap: start grids are rarely longer (common practice, no source)."""
STEP_M = 2.5
NEAREST = 4
"""Fixes that share in a height: about one a lap of a recording of several."""
SINGLE_PASS_ERROR_M = 3.0
"""One-sigma error of one receiver under trees, see docs/network.md."""


def ring_network(line: Floats, origin: Origin) -> Network | None:
    """Make a network of one ring from a lap ``(n, 3)`` (x, y in local metres, height in metres).

    Gives None when the line is shorter than 200 m or its ends lie too far apart.
    """
    if len(line) < 4 or polyline.length_m(line[:, :2]) < 200.0:
        return None
    if np.hypot(*(line[0, :2] - line[-1, :2])) > CLOSE_M:
        return None
    closed = np.vstack((line, line[:1]))
    xy = polyline.resample(closed[:, :2], STEP_M)
    heights = np.interp(
        np.linspace(0, polyline.length_m(closed[:, :2]), len(xy)),
        polyline.along(closed[:, :2]),
        closed[:, 2],
    )
    gate = JunctionId("j1")
    stretch = Stretch(
        id=StretchId("ring"),
        start=gate,
        end=gate,
        xy=xy,
        ele_m=heights,
        std_error_m=np.full(len(xy), SINGLE_PASS_ERROR_M),
    )
    junction = Junction(id=gate, xy=xy[0], ele_m=float(heights[0]), degree=2)
    return Network(origin=origin, stretches=(stretch,), junctions=(junction,))


def whole_line(track: CleanTrack) -> Floats:
    """All pieces of a cleaned ride in one line ``(n, 3)``: x, y, height in local metres."""
    if not track.pieces:
        return np.zeros((0, 3))
    return np.vstack([np.column_stack((p.xy, p.ele_m)) for p in track.pieces])


def with_heights(line: Floats, track: CleanTrack) -> Floats:
    """Give a circuit ``(n, 2)`` the heights of the ride's own nearest fixes: ``(n, 3)``.

    Heights are NaN everywhere when the ride carries none.
    """
    points = whole_line(track)
    known = points[np.isfinite(points[:, 2])]
    if not len(known):
        return np.column_stack((line, np.full(len(line), np.nan)))
    _, near = cKDTree(known[:, :2]).query(line, k=min(NEAREST, len(known)))
    heights = known[near, 2].reshape(len(line), -1).mean(axis=1)
    return np.column_stack((line, heights))
