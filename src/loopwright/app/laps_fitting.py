"""Which loop a ride was ridden on, at a quick look.

Gets a recorded track and loops; gives the loop it fits best. Promises: the loop in view stays
unless another fits clearly better; nothing is matched, so it takes a millisecond a loop.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.spatial import cKDTree

from loopwright.geo.frame import origin_for, to_local
from loopwright.geo.polyline import resample
from loopwright.model.arrays import Floats
from loopwright.model.frame import Origin
from loopwright.model.loops import SavedLoop
from loopwright.model.track import RecordedTrack

NEAR_M = 25.0
"""A fix this near to a loop may have been ridden on it: four times an error of 6 m."""
STEP_M = 20.0
BETTER = 0.05
MOST_FIXES = 3000


def best_fitting(
    track: RecordedTrack,
    loops: Sequence[SavedLoop],
    now: SavedLoop | None,
    *,
    frame: Origin | None = None,
) -> SavedLoop | None:
    """Choose the loop ``track`` fits best; ``now`` unless another is better by BETTER.

    ``frame`` is the area's; without it the ride gets one of its own.
    """
    if not loops or not len(track):
        return now
    origin = frame or origin_for(track.lat, track.lon)
    fixes = to_local(origin, track.lat, track.lon)[:: max(1, len(track) // MOST_FIXES)]
    tree = cKDTree(fixes)
    fits = [_fit(tree, to_local(origin, one.line[:, 1], one.line[:, 0])) for one in loops]
    best = int(np.argmax(fits))
    held = max((fit for one, fit in zip(loops, fits, strict=True) if one is now), default=0.0)
    return loops[best] if fits[best] > held + BETTER else now


def _fit(ride: cKDTree, line: Floats) -> float:
    """Share of the loop that was ridden times share of the ride that is on it, 0 to 1."""
    loop = cKDTree(resample(line, STEP_M))
    ridden, on = (
        np.isfinite(one.query(other.data, distance_upper_bound=NEAR_M)[0])
        for one, other in ((ride, loop), (loop, ride))
    )
    return float(np.mean(ridden) * np.mean(on))
