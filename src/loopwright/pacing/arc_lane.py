"""Lanes of single arcs: a stretch ridden one way, on a 1 m grid.

Gets a terrain and an arc. Gives the lane's columns. Promises: the same smoothing of curvature as a
whole lap gets, so that what is fitted on stretches holds on laps.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.ndimage import uniform_filter1d

from loopwright.model.arrays import Floats, Ints
from loopwright.model.ground import ROUGHNESSES, SURFACES, Terrain
from loopwright.model.ids import Arc, StretchId, Way
from loopwright.pacing.lane import BANK, LINE_M, MEET_M, STEP_M, Lane, meeting
from loopwright.pacing.physics import air_density

GRADE_M = 11
"""Places over which grades are averaged where arcs are ridden as one, as those of a lap are."""
TURN_M = 8
"""A kink where stretches meet comes out about this long once a lap is smoothed over it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ArcLane:
    """Columns ``(n,)`` of an arc at whole metres from its start, signs as ridden."""

    grade: Floats
    curvature_per_m: Floats
    bank: Floats
    surface: Ints
    roughness: Ints
    meets: Floats
    part: Ints

    def cut(self, from_m: int, to_m: int) -> ArcLane:
        """Cut the columns from one whole metre to another, both in."""
        rows = slice(from_m, to_m + 1)
        return ArcLane(
            grade=self.grade[rows],
            curvature_per_m=self.curvature_per_m[rows],
            bank=self.bank[rows],
            surface=self.surface[rows],
            roughness=self.roughness[rows],
            meets=self.meets[rows],
            part=self.part[rows],
        )


def arc_lane(terrain: Terrain, arc: Arc, first_part: int = 0) -> ArcLane:
    """Put one arc on the grid, its parts numbered from ``first_part`` as they are ridden.

    Raises KeyError for a stretch the terrain does not know.
    """
    profile = terrain.profiles[arc[0]]
    at = np.arange(0.0, float(profile.dist_m[-1]) + 1e-9, STEP_M)
    grade = np.interp(at, profile.dist_m, np.nan_to_num(profile.grade))
    bend = np.interp(at, profile.dist_m, np.nan_to_num(profile.curvature_per_m))
    surface, roughness, bank = _ground(terrain, arc[0], at)
    length, back = float(profile.dist_m[-1]), arc[1] is Way.BACKWARD
    sign, turn = (-1.0, slice(None, None, -1)) if back else (1.0, slice(None))
    return ArcLane(
        grade=sign * grade[turn],
        curvature_per_m=uniform_filter1d(sign * bend[turn], LINE_M, mode="nearest"),
        bank=bank[turn],
        surface=surface[turn],
        roughness=roughness[turn],
        meets=np.zeros(len(at)),
        part=first_part + part_at(at, length, parts_in(length)),
    )


def as_ridden(lane: ArcLane) -> ArcLane:
    """Average grades as on a lap, so that they do not jump where arcs meet."""
    return replace(lane, grade=uniform_filter1d(lane.grade, GRADE_M, mode="nearest"))


PART_M = 120.0
"""Arcs are parted evenly into pieces of about this length, that of the sections timed."""


def parts_in(length_m: float) -> int:
    """Count the parts of an arc."""
    return max(1, round(length_m / PART_M))


def part_at(at_m: Floats, length_m: float, count: int) -> Ints:
    """Give the number of the part, of ``count``, at metres ``(n,)`` ridden along an arc."""
    return np.clip(at_m / max(length_m, 1e-9) * count, 0, count - 1).astype(np.int32)


def _ground(terrain: Terrain, stretch: StretchId, at: Floats) -> tuple[Ints, Ints, Floats]:
    surface = np.zeros(len(at), dtype=np.int32)
    roughness = np.zeros(len(at), dtype=np.int32)
    bank = np.zeros(len(at))
    for span in terrain.spans.get(stretch, ()):
        inside = (at >= span.from_m) & (at <= span.to_m)
        surface[inside] = SURFACES.index(span.surface)
        roughness[inside] = ROUGHNESSES.index(span.roughness)
        bank[inside] = BANK if span.banked else 0.0
    return surface, roughness, bank


def air_of(terrain: Terrain) -> float:
    """Air density in kg/m^3 at the terrain's mean height; sea level when none is known."""
    heights = [p.ele_m for p in terrain.profiles.values()]
    known = np.concatenate(heights) if heights else np.zeros(0)
    known = known[np.isfinite(known)]
    return air_density(float(known.mean()) if len(known) else 0.0)


def joined(lanes: Sequence[ArcLane], turns: Sequence[float]) -> ArcLane:
    """Lay arcs end to end as one; ``turns`` (radians, left positive) lie between them.

    A turn at a junction is ridden as an arc of TURN_M metres.
    """
    bend = np.concatenate([one.curvature_per_m for one in lanes])
    meets = np.concatenate([one.meets for one in lanes])
    at = 0
    for lane, turn in zip(lanes, turns, strict=False):
        at += len(lane.grade)
        bend[max(at - TURN_M // 2, 0) : at + TURN_M // 2] += turn / TURN_M
        meets[max(at - MEET_M, 0) : at + MEET_M] = meeting(turn)
    return ArcLane(
        grade=np.concatenate([one.grade for one in lanes]),
        curvature_per_m=bend,
        bank=np.concatenate([one.bank for one in lanes]),
        surface=np.concatenate([one.surface for one in lanes]),
        roughness=np.concatenate([one.roughness for one in lanes]),
        meets=meets,
        part=np.concatenate([one.part for one in lanes]),
    )


def end_to_end(lanes: Sequence[ArcLane], air: float) -> tuple[Lane, Ints]:
    """One lane of all, and the places ``(m + 1,)`` where each begins and the last ends."""
    firsts = np.concatenate(([0], np.cumsum([len(lane.grade) for lane in lanes])))
    one = joined(lanes, [])
    lane = Lane(
        dist_m=np.arange(float(firsts[-1])),
        step_m=STEP_M,
        grade=one.grade,
        curvature_per_m=one.curvature_per_m,
        bank=one.bank,
        surface=one.surface,
        roughness=one.roughness,
        meets=one.meets,
        air=air,
        closed=False,
    )
    return lane, firsts.astype(np.int32)
