"""Unbroken riding over the network: passes of one ride, one after another.

Gets clean tracks and the terrain built from them. Gives walks: the lane ridden, junction corners
included, and progress over time. Promises: a walk never jumps; it ends where the ride turned
round, left the trails or was not recorded.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from loopwright.geo.polyline import along, resample
from loopwright.model.arrays import Floats
from loopwright.model.ground import Terrain
from loopwright.model.ids import Arc, JunctionId, RideId, Way
from loopwright.model.network import Pass, Stretch
from loopwright.model.track import CleanTrack
from loopwright.pacing.arc_lane import ArcLane, arc_lane, as_ridden, joined
from loopwright.pacing.trails import numbering

SILENCE_S = 15.0
"""A longer silence ends a walk."""
LOOSE_M = 25.0
"""Passes of neighbouring arcs belong together if they reach this near to the junction."""
LEAST_FIXES = 3
HEADING_M = 6.0
MATCH_M = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Walk:
    """``lane`` on a 1 m grid; ``place`` ``(n,)`` rising metres on it at ``time_s`` ``(n,)``."""

    ride: int
    lane: ArcLane
    place: Floats
    time_s: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class _Step:
    """One pass: the arc, progress ``(n,)`` m from its start, time ``(n,)`` s."""

    arc: Arc
    progress: Floats
    time_s: Floats


def walks_of(tracks: Sequence[CleanTrack], terrain: Terrain) -> Iterator[Walk]:
    """Give all walks, by ride and time. Rides are numbered as given."""
    passes = _by_ride(terrain)
    arcs = _Arcs(terrain)
    for number, track in enumerate(tracks):
        if not track.used:
            continue
        chain: list[_Step] = []
        for stretch, one in passes.get(track.ride, []):
            step = _step(terrain, stretch, track, one)
            if step is None or (chain and not arcs.follows(chain[-1], step)):
                yield from arcs.walk(number, chain)
                chain = []
            if step is not None:
                chain.append(step)
        yield from arcs.walk(number, chain)


def _by_ride(terrain: Terrain) -> Mapping[RideId, list[tuple[Stretch, Pass]]]:
    table: dict[RideId, list[tuple[Stretch, Pass]]] = {}
    for stretch in terrain.network.stretches:
        if stretch.id in terrain.profiles:
            for one in stretch.passes:
                table.setdefault(one.ride, []).append((stretch, one))
    for rows in table.values():
        rows.sort(key=lambda row: (row[1].first, row[1].last))
    return table


class _Arcs:
    """Arcs of a terrain: their lanes, ends and headings, worked out once each."""

    def __init__(self, terrain: Terrain) -> None:
        self._terrain = terrain
        self._lanes: dict[Arc, ArcLane] = {}
        self._parts = numbering(terrain)
        self._ends = {s.id: (s.start, s.end) for s in terrain.network.stretches}

    def lane(self, arc: Arc) -> ArcLane:
        if arc not in self._lanes:
            self._lanes[arc] = arc_lane(self._terrain, arc, self._parts[arc])
        return self._lanes[arc]

    def ends(self, arc: Arc) -> tuple[JunctionId, JunctionId]:
        start, end = self._ends[arc[0]]
        return (start, end) if arc[1] is Way.FORWARD else (end, start)

    def follows(self, before: _Step, after: _Step) -> bool:
        """Tell whether riding went on from one pass into the next without a break."""
        length = float(self._terrain.profiles[before.arc[0]].dist_m[-1])
        meets = self.ends(before.arc)[1] == self.ends(after.arc)[0]
        near = before.progress[-1] > length - LOOSE_M and after.progress[0] < LOOSE_M
        wait = float(after.time_s[0] - before.time_s[-1])
        turned = before.arc[0] == after.arc[0] and before.arc[1] is not after.arc[1]
        return bool(meets and near and abs(wait) < SILENCE_S and not turned)

    def walk(self, ride: int, chain: Sequence[_Step]) -> Iterator[Walk]:
        """Lay a chain of passes end to end; nothing for an empty chain."""
        if not chain:
            return
        lanes = [self.lane(step.arc) for step in chain]
        # Where arcs meet, the last place of one is the first of the next.
        lanes[:-1] = [lane.cut(0, max(len(lane.grade) - 2, 0)) for lane in lanes[:-1]]
        turns = [_turn(self._terrain, a.arc, b.arc) for a, b in pairwise(chain)]
        places, times, first = [], [], 0
        for step, lane in zip(chain, lanes, strict=True):
            length = float(self._terrain.profiles[step.arc[0]].dist_m[-1])
            places.append(first + step.progress * (len(lane.grade) / max(length, 1e-9)))
            times.append(step.time_s)
            first += len(lane.grade)
        place, time = _in_order(np.concatenate(places), np.concatenate(times))
        lane = as_ridden(joined(lanes, turns))
        yield Walk(ride=ride, lane=lane, place=place, time_s=time)


def _in_order(place: Floats, time: Floats) -> tuple[Floats, Floats]:
    """Sort by time, drop repeated moments, and make places rise."""
    time, pick = np.unique(time, return_index=True)
    place = place[pick]
    up = np.maximum.accumulate(place)
    down = np.minimum.accumulate(place[::-1])[::-1]
    return (up + down) / 2 + 1e-6 * np.arange(len(place)), time


def _turn(terrain: Terrain, before: Arc, after: Arc) -> float:
    """Angle turned from one arc into the next, radians, positive to the left."""
    leave, enter = _heading(terrain, before, at_end=True), _heading(terrain, after, at_end=False)
    return float((enter - leave + np.pi) % (2 * np.pi) - np.pi)


def _heading(terrain: Terrain, arc: Arc, *, at_end: bool) -> float:
    xy = terrain.profiles[arc[0]].xy
    line = xy if arc[1] is Way.FORWARD else xy[::-1]
    run = along(line)
    ends = [run[-1] - HEADING_M, run[-1]] if at_end else [0.0, HEADING_M]
    x, y = (np.interp(ends, run, line[:, k]) for k in (0, 1))
    return float(np.arctan2(y[1] - y[0], x[1] - x[0]))


def _step(terrain: Terrain, stretch: Stretch, track: CleanTrack, one: Pass) -> _Step | None:
    """Progress over time of a pass; None if it is not one clean run."""
    for piece in track.pieces:
        a, b = np.searchsorted(piece.index, [one.first, one.last + 1])
        time = piece.time_s[a:b]
        if b - a < LEAST_FIXES or not np.isfinite(time).all():
            continue
        if np.diff(time).max() > SILENCE_S or np.diff(time).min() <= 0:
            continue
        profile = terrain.profiles[stretch.id]
        turn = slice(None) if one.way is Way.FORWARD else slice(None, None, -1)
        share = _rising_shares(profile.xy[turn], piece.xy[a:b])
        progress = share * float(profile.dist_m[-1])
        return _Step(arc=(stretch.id, one.way), progress=progress, time_s=time)
    return None


def _rising_shares(line: Floats, points: Floats) -> Floats:
    """Share of a line passed at each point ``(k,)``, following the line one way only."""
    from loopwright.pacing.kernels import rising_places

    fine = resample(line, MATCH_M)
    place = rising_places(points, fine)
    ahead = np.gradient(fine, axis=0)[place]
    pull = ((points - fine[place]) * ahead).sum(axis=1) / np.maximum((ahead**2).sum(axis=1), 1e-9)
    last = len(fine) - 1
    return np.asarray(np.clip(place + np.clip(pull, -0.5, 0.5), 0.0, last) / last)
