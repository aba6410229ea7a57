"""A loop unrolled into one lap.

Gets a terrain and the arcs of a loop; gives a course with even samples and features in riding
order. Heights are those of the terrain, so lap ascent is the sum over the arcs; the line is
smoothed once more over the junctions, as it is ridden.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from loopwright.features.along_lap import lap_features
from loopwright.features.ground import span_at
from loopwright.geo import polyline
from loopwright.geo.curvature import LEAST_RADIUS_M, curvature, mean_over
from loopwright.geo.whittaker import smooth
from loopwright.model.arrays import Floats, Ints
from loopwright.model.course import Course
from loopwright.model.ground import ROUGHNESSES, SURFACES, WIDTHS, GroundSpan, Terrain
from loopwright.model.ids import Arc, StretchId, Way
from loopwright.model.network import Stretch

STEP_M = 2.5
ROUNDING_M = 1.5
GRADE_WINDOW_M = 10.0
JOINT_M = 0.5


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Lap:
    """Stations of the arcs one after another, from the first arc's start; ``arc`` ``(n,)``."""

    dist_m: Floats
    xy: Floats
    ele_m: Floats
    std_error_m: Floats
    ends_m: Floats


def unroll(terrain: Terrain, arcs: Sequence[Arc], *, name: str, start_m: float = 0.0) -> Course:
    """Unroll ``arcs`` into a course that starts ``start_m`` metres along the first arc.

    The lap is closed if the last arc ends where the first begins; only a closed lap can start
    elsewhere. An arc parted by the gate stands first and last. Raises ValueError for no arcs or
    for arcs that do not follow each other.
    """
    closed = _checked(terrain, arcs)
    lap = _lap(terrain, arcs)
    shift = _gate(lap.ends_m, start_m) if closed else 0.0
    ridden, ends = _turned(tuple(arcs), lap.ends_m, shift)
    dist = polyline.stations(float(lap.dist_m[-1]), STEP_M)
    there = (dist + shift) % lap.dist_m[-1] if shift else dist
    at = _LapAt(lap, there)
    xy = _rounded(at.points(), closed=closed)
    ele = at.values(lap.ele_m)
    grounds = _grounds(terrain, arcs, lap.ends_m, there)
    return Course(
        origin=terrain.network.origin,
        name=name,
        arcs=ridden,
        arc_ends_m=ends,
        dist_m=dist,
        xy=xy,
        ele_m=ele,
        grade=_grade(ele, dist, closed=closed),
        curvature_per_m=_curvature(xy, closed=closed),
        std_error_m=at.values(lap.std_error_m),
        surface=_codes([SURFACES.index(g.surface) for g in grounds]),
        roughness=_codes([ROUGHNESSES.index(g.roughness) for g in grounds]),
        width=_codes([WIDTHS.index(g.width) for g in grounds]),
        rough=_codes([int(g.rough) for g in grounds]),
        banked=_codes([int(g.banked) for g in grounds]),
        obstacles=_codes([int(g.obstacles) for g in grounds]),
        features=lap_features(terrain, arcs, shift_m=shift, dist_m=dist, ele_m=ele, closed=closed),
        ascent_m=sum(terrain.ascents_m[arc] for arc in arcs),
        closed=closed,
    )


def _codes(values: list[int]) -> Ints:
    return np.array(values, dtype=np.int32)


def _checked(terrain: Terrain, arcs: Sequence[Arc]) -> bool:
    """Tell whether the arcs close; raises ValueError if they do not follow each other."""
    if not arcs:
        raise ValueError("a lap needs at least one arc")
    known = {s.id: s for s in terrain.network.stretches}
    ends = [_ends(known, arc) for arc in arcs]
    for before, after in pairwise(ends):
        if before[1] != after[0]:
            raise ValueError(f"arcs do not follow each other at {before[1]}")
    return ends[-1][1] == ends[0][0]


def _ends(known: dict[StretchId, Stretch], arc: Arc) -> tuple[str, str]:
    stretch = known[arc[0]]
    pair = (stretch.start, stretch.end)
    return pair if arc[1] is Way.FORWARD else pair[::-1]


def _lap(terrain: Terrain, arcs: Sequence[Arc]) -> _Lap:
    errors = {s.id: (polyline.along(s.xy), s.std_error_m) for s in terrain.network.stretches}
    dist, xy, ele, error, ends = [], [], [], [], [0.0]
    for key, way in arcs:
        profile = terrain.profiles[key]
        turn = slice(None) if way is Way.FORWARD else slice(None, None, -1)
        run = profile.dist_m if way is Way.FORWARD else profile.dist_m[-1] - profile.dist_m[::-1]
        dist.append(run + ends[-1])
        xy.append(profile.xy[turn])
        ele.append(profile.ele_m[turn])
        error.append(np.interp(profile.dist_m, *errors[key])[turn])
        ends.append(ends[-1] + float(profile.dist_m[-1]))
    return _Lap(
        dist_m=np.concatenate(dist),
        xy=np.concatenate(xy),
        ele_m=np.concatenate(ele),
        std_error_m=np.concatenate(error),
        ends_m=np.array(ends[1:]),
    )


def _gate(ends: Floats, start_m: float) -> float:
    """Metres along the arcs to the gate; a gate at the very joint of two arcs is the joint."""
    shift = start_m % float(ends[-1])
    near = float(ends[np.abs(ends - shift).argmin()])
    if min(shift, abs(near - shift)) > JOINT_M:
        return shift
    return 0.0 if shift <= JOINT_M else near % float(ends[-1])


def _turned(arcs: tuple[Arc, ...], ends: Floats, shift: float) -> tuple[tuple[Arc, ...], Floats]:
    """Arcs and their ends as seen from the gate ``shift`` metres on."""
    if shift == 0:
        return arcs, ends
    first = int(np.searchsorted(ends, shift, side="right"))
    order = arcs[first:] + arcs[: first + 1]
    gone = np.concatenate((ends[first:] - shift, ends[: first + 1] - shift + ends[-1]))
    gone[-1] = ends[-1]
    parted = shift > (ends[first - 1] if first else 0.0)
    return (order, gone) if parted else (order[:-1], gone[:-1])


class _LapAt:
    """Values of a lap at given places ``(k,)`` along it."""

    def __init__(self, lap: _Lap, there: Floats) -> None:
        self._lap = lap
        self._there = there

    def values(self, of: Floats) -> Floats:
        return np.interp(self._there, self._lap.dist_m, of)

    def points(self) -> Floats:
        return np.column_stack([self.values(side) for side in self._lap.xy.T])


def _around(values: Floats, *, closed: bool) -> tuple[Floats, slice]:
    """Values with a piece of the lap before and after it, and where the lap lies in them."""
    if not closed:
        return values, slice(0, len(values))
    extra = min(40, len(values) - 1)
    wide = np.concatenate((values[-1 - extra : -1], values, values[1 : 1 + extra]))
    return wide, slice(extra, extra + len(values))


def _rounded(xy: Floats, *, closed: bool) -> Floats:
    wide, lap = _around(xy, closed=closed)
    weights = np.ones(len(wide))
    line = np.array(smooth(wide, weights, step_m=STEP_M, scale_m=ROUNDING_M, order=2)[lap])
    if closed:
        line[-1] = line[0]
    return line


def _curvature(xy: Floats, *, closed: bool) -> Floats:
    wide, lap = _around(xy, closed=closed)
    # Kinks where centre lines meet are rounded by riders at least this much.
    limit = 1 / LEAST_RADIUS_M
    found = np.clip(curvature(wide)[lap], -limit, limit)
    if closed:
        found[-1] = found[0]
    return found


def _grade(ele: Floats, dist: Floats, *, closed: bool) -> Floats:
    """Grade as a mean over ten metres, so that it does not jump where stretches meet."""
    wide, lap = _around(ele, closed=closed)
    run = np.arange(len(wide), dtype=np.float64) * float(dist[1] - dist[0])
    grade: Floats = np.asarray(np.gradient(wide, run), dtype=np.float64)
    return mean_over(grade, run, window_m=GRADE_WINDOW_M)[lap]


def _grounds(
    terrain: Terrain, arcs: Sequence[Arc], ends: Floats, there: Floats
) -> list[GroundSpan]:
    """Ground at every place; the lap's very end belongs to its last arc."""
    which = np.minimum(np.searchsorted(ends, there, side="right"), len(arcs) - 1)
    found = []
    for k, place in zip(which.tolist(), there.tolist(), strict=True):
        key, way = arcs[k]
        left = float(ends[k]) - place
        found.append(
            span_at(
                terrain.spans[key],
                terrain.lengths_m[key] - left if way is Way.FORWARD else left,
            )
        )
    return found
