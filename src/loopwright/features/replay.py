"""A ride replayed stretch by stretch, so that its ground can be tagged afterwards.

Gets a cleaned ride and a terrain; gives the parts of stretches ridden, in order, each with what is
known of its ground. Promises: every part can be tagged by the line it comes with.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from loopwright.features.ground import SNAP_M, TAG_WITHIN_M, metres
from loopwright.geo.follow import Followed, Follower
from loopwright.geo.frame import to_degrees
from loopwright.model.arrays import Floats
from loopwright.model.ground import GroundSpan, Terrain
from loopwright.model.ids import Arc, StretchId, Way
from loopwright.model.track import CleanTrack

LEAST_PART_M = 15.0
"""Less than this of a stretch is not worth a question."""
LONGEST_PART_M = 500.0
"""A longer part is asked about in pieces: on a first ride there are few junctions, and ground
seldom stays the same for longer (our choice)."""
LINE_STEP_M = 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class RiddenPart:
    """A part of a stretch as ridden; metres along the stretch as stored.

    ``spans`` is what its ground is taken to be now: "same as last time" says them again.
    ``again`` marks ground this ride was on before.
    """

    arc: Arc
    from_m: float
    to_m: float
    spans: tuple[GroundSpan, ...]
    again: bool = False

    @property
    def length_m(self) -> float:
        """Metres ridden."""
        return self.to_m - self.from_m

    @property
    def known(self) -> bool:
        """Tell whether surface and roughness are known all along."""
        return all(s.surface != "unknown" and s.roughness != "unknown" for s in self.spans)


def replay(track: CleanTrack, terrain: Terrain) -> tuple[RiddenPart, ...]:
    """Parts of stretches ridden, in order; where the ride leaves the network nothing is given."""
    stretches = terrain.network.stretches
    follower = Follower([s.xy for s in stretches], within_m=TAG_WITHIN_M)
    found: list[RiddenPart] = []
    for piece in track.pieces:
        for part in follower.follow(piece.xy):
            key = stretches[part.index].id
            found.append(_ridden(terrain, key, part))
    joined = [part for part in _joined(found) if part.length_m >= LEAST_PART_M]
    return tuple(_marked(terrain, [piece for part in joined for piece in _pieces(part)]))


def _ridden(terrain: Terrain, key: StretchId, part: Followed) -> RiddenPart:
    total = terrain.lengths_m[key]
    low = 0.0 if part.from_m <= SNAP_M else part.from_m
    high = total if part.to_m >= total - SNAP_M else part.to_m
    way = Way.FORWARD if part.forward else Way.BACKWARD
    return RiddenPart(arc=(key, way), from_m=low, to_m=high, spans=())


def _joined(parts: list[RiddenPart]) -> Iterator[RiddenPart]:
    """Join parts of one arc that a pause or a gap of the recording set apart."""
    last: RiddenPart | None = None
    for part in parts:
        if last is not None and _goes_on(last, part):
            low, high = min(last.from_m, part.from_m), max(last.to_m, part.to_m)
            last = RiddenPart(arc=part.arc, from_m=low, to_m=high, spans=())
            continue
        if last is not None:
            yield last
        last = part
    if last is not None:
        yield last


def _pieces(part: RiddenPart) -> list[RiddenPart]:
    """Cut a long part into even pieces, in the order they were ridden."""
    count = max(1, math.ceil(part.length_m / LONGEST_PART_M - 1e-9))
    cuts = np.linspace(part.from_m, part.to_m, count + 1).tolist()
    pieces = [
        RiddenPart(arc=part.arc, from_m=low, to_m=high, spans=()) for low, high in pairwise(cuts)
    ]
    return pieces[::-1] if part.arc[1] is Way.BACKWARD else pieces


def _goes_on(before: RiddenPart, after: RiddenPart) -> bool:
    ahead = after.from_m - before.to_m
    if after.arc[1] is Way.BACKWARD:
        ahead = before.from_m - after.to_m
    return before.arc == after.arc and -TAG_WITHIN_M <= ahead <= 4 * TAG_WITHIN_M


def _marked(terrain: Terrain, parts: list[RiddenPart]) -> Iterator[RiddenPart]:
    seen: dict[StretchId, list[tuple[float, float]]] = {}
    for part in parts:
        key = part.arc[0]
        before = seen.setdefault(key, [])
        yield RiddenPart(
            arc=part.arc,
            from_m=part.from_m,
            to_m=part.to_m,
            spans=_cut(terrain.spans[key], part.from_m, part.to_m),
            again=any(low < part.to_m and part.from_m < high for low, high in before),
        )
        before.append((part.from_m, part.to_m))


def _cut(spans: tuple[GroundSpan, ...], low: float, high: float) -> tuple[GroundSpan, ...]:
    """Give spans cut to a part."""
    return tuple(
        GroundSpan(
            from_m=max(span.from_m, low),
            to_m=min(span.to_m, high),
            surface=span.surface,
            roughness=span.roughness,
            width=span.width,
            banked=span.banked,
            roots=span.roots,
            obstacles=span.obstacles,
        )
        for span, _ in metres(spans, low, high)
    )


def line_of(terrain: Terrain, arc: Arc, *, from_m: float, to_m: float) -> Floats:
    """Line of a part of a stretch as ridden, ``(n, 2)`` lon, lat degrees: the anchor of a tag."""
    return lines_of(terrain, [(arc, from_m, to_m)])[0]


def lines_of(terrain: Terrain, parts: Sequence[tuple[Arc, float, float]]) -> list[Floats]:
    """Lines of many parts, each an arc from and to metres along it; turned into degrees at once."""
    lines = [xy_of(terrain, arc, from_m=low, to_m=high) for arc, low, high in parts]
    if not lines:
        return []
    lat, lon = to_degrees(terrain.network.origin, np.concatenate(lines))
    ends = np.cumsum([len(line) for line in lines])[:-1]
    return np.split(np.column_stack((lon, lat)), ends)


def xy_of(terrain: Terrain, arc: Arc, *, from_m: float, to_m: float) -> Floats:
    """Line of a part of a stretch as ridden, ``(n, 2)`` local metres."""
    profile = terrain.profiles[arc[0]]
    count = max(2, round((to_m - from_m) / LINE_STEP_M) + 1)
    run = np.linspace(from_m, to_m, count)
    if arc[1] is Way.BACKWARD:
        run = run[::-1]
    return np.column_stack([np.interp(run, profile.dist_m, side) for side in profile.xy.T])
