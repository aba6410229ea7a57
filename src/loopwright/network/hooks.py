"""Tell a hook at the end of a branch, and where its fork would lie without it.

Gets a branch and its trail; gives how far along the trail the branch would meet it, were it to go
on as it comes. A branch that few rode begins with their error, and turns back to where it was tied.
"""

from __future__ import annotations

import numpy as np
from shapely import LineString, Point, get_parts

from loopwright.geo.planar import unit
from loopwright.geo.polyline import along, at
from loopwright.model.arrays import Floats

STRAIGHT_M = (18.0, 42.0)
"""The part of a branch, from its fork on, that shows how it comes."""
FIRST_M, TURN_COS = 12.0, 0.64
"""A branch that begins so much otherwise (by 50 degrees) over its first metres has a hook."""
FURTHEST_M = 75.0
"""From the middle of that part to the trail; farther off, a branch may well have bent."""


def unhooked_m(branch: Floats, trail: LineString) -> float | None:
    """Tell where a ``branch`` ``(n, 2)``, from its fork on, would meet its trail without its hook.

    In metres along the trail; None without a hook, or where going on straight does not meet it.
    """
    if along(branch)[-1] < STRAIGHT_M[1]:
        return None
    middle, out = _straight(at(branch, np.linspace(*STRAIGHT_M, 9)))
    first = at(branch, np.array([FIRST_M])) - branch[:1]
    if float(unit(first)[0] @ out) > TURN_COS:
        return None
    met = LineString([middle, middle - FURTHEST_M * out]).intersection(trail)
    if met.is_empty:
        return None
    start = Point(*middle)
    spots = [Point(*part.coords[0]) for part in get_parts(met)]
    return float(trail.project(min(spots, key=start.distance)))


def _straight(xy: Floats) -> tuple[Floats, Floats]:
    """Fit a straight line to places ``(n, 2)``: its middle, and the way it goes, ``(2,)`` each."""
    middle = xy.mean(axis=0)
    _, _, axes = np.linalg.svd(xy - middle)
    return middle, axes[0] * np.copysign(1.0, axes[0] @ (xy[-1] - xy[0]))
