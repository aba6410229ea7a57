"""What riding from one stretch into the next adds: a corner at the junction, a funnel into it.

Gets pieces with their features; gives a passage for every pair of arcs that adds something. Going
straight back along the stretch just ridden is no passage. Promises: the way back has the same
corner turned the other way.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from types import MappingProxyType

import numpy as np

from loopwright.features.bends import CORNER_TURN, Bend, bends
from loopwright.features.ground import span_at
from loopwright.features.on_stretch import FUNNEL_WITHIN_M, Piece
from loopwright.geo import polyline
from loopwright.geo.whittaker import PINNED, smooth
from loopwright.jobs import Report, watched
from loopwright.model.arrays import Floats
from loopwright.model.ground import Feature, FeatureKind, FeatureWay, Passage
from loopwright.model.ids import Arc, JunctionId, StretchId, Way
from loopwright.model.network import Network

ARM_M = 30.0
"""How far before and after a junction a passage looks."""
STEP_M = 2.5
AIM_M = 15.0
"""A passage is looked at closely only if the ways 2.5 to 15 m out differ by near a corner."""
ROUNDING_M = 3.0
"""A rider rounds the kink that two centre lines make: scale of the smoothing over a junction."""

Pairs = Mapping[tuple[Arc, Arc], tuple[Passage, ...]]
"""Passages by the two arcs between which they lie, both leaving the junction."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Arm:
    """An arc leaving a junction: places ``(13, 2)`` from 0 to 30 m out, held at its far end."""

    arc: Arc
    out: Floats
    length_m: float


def passages_of(
    network: Network,
    pieces: Mapping[StretchId, Piece],
    features: Mapping[StretchId, Sequence[Feature]],
    report: Report,
) -> tuple[Passage, ...]:
    """All passages that add something, sorted by their arcs."""
    return in_order(by_pair(network, pieces, features, report))


def in_order(pairs: Pairs) -> tuple[Passage, ...]:
    """Give passages sorted by their arcs."""
    found = [passage for row in pairs.values() for passage in row]
    return tuple(sorted(found, key=lambda p: (p.before, p.after)))


def by_pair(
    network: Network,
    pieces: Mapping[StretchId, Piece],
    features: Mapping[StretchId, Sequence[Feature]],
    report: Report,
    known: Pairs = MappingProxyType({}),
) -> Pairs:
    """Passages between every two arcs that leave one junction; ``known`` ones stay as they are."""
    found: dict[tuple[Arc, Arc], tuple[Passage, ...]] = {}
    for arms in _arms(network, pieces, report).values():
        for two, one in watched(combinations(arms, 2), report.check):
            row = known.get((one.arc, two.arc))
            if row is None:
                row = tuple(_both_ways(one, two, pieces, features))
            found[one.arc, two.arc] = row
    return found


def _arms(
    network: Network, pieces: Mapping[StretchId, Piece], report: Report
) -> dict[JunctionId, list[Arm]]:
    arms: dict[JunctionId, list[Arm]] = {}
    for stretch in watched(network.stretches, report.check):
        profile = pieces[stretch.id].profile
        length = float(profile.dist_m[-1])
        far = np.minimum(np.arange(0.0, ARM_M + 0.1, STEP_M), length)
        for junction, way in ((stretch.start, Way.FORWARD), (stretch.end, Way.BACKWARD)):
            run = far if way is Way.FORWARD else length - far
            out = np.column_stack([np.interp(run, profile.dist_m, side) for side in profile.xy.T])
            arms.setdefault(junction, []).append(
                Arm(arc=(stretch.id, way), out=out, length_m=length)
            )
    return arms


def _both_ways(
    one: Arm,
    two: Arm,
    pieces: Mapping[StretchId, Piece],
    features: Mapping[StretchId, Sequence[Feature]],
) -> Iterator[Passage]:
    there = _corner(one, two, pieces, features)
    for before, after, sign in ((one, two, 1), (two, one, -1)):
        corner = _turned(there, after, sign)
        amounts: dict[str, float] = {}
        if corner is not None:
            amounts["corners"] = 1.0
            if corner.tight:
                amounts["tight_corners"] = 1.0
        if _funnels(back(before.arc), after.arc, pieces, features):
            amounts["funnels"] = 1.0
        if amounts:
            yield Passage(before=back(before.arc), after=after.arc, amounts=amounts, corner=corner)


def back(arc: Arc) -> Arc:
    """Give the same stretch ridden the other way."""
    return (arc[0], arc[1].other)


def _corner(
    one: Arm,
    two: Arm,
    pieces: Mapping[StretchId, Piece],
    features: Mapping[StretchId, Sequence[Feature]],
) -> tuple[Bend, float, bool] | None:
    """Find the corner from arm ``one`` into ``two``, its half length and whether it is banked."""
    if abs(_aimed(one, two)) < 0.7 * CORNER_TURN:
        return None
    joined = np.concatenate((_within(one)[::-1], _within(two)[1:]))
    dist, line = rounded(joined)
    joint = float(polyline.length_m(_within(one)))
    for bend in bends(dist, line):
        if dist[bend.first] < joint < dist[bend.last]:
            off = float(dist[bend.at] - joint)
            if not _counted(one, -off, features) and not _counted(two, off, features):
                half = float(dist[bend.last] - dist[bend.first]) / 2
                return bend, half, _banked(one, pieces) or _banked(two, pieces)
    return None


def _within(arm: Arm) -> Floats:
    return arm.out[: 1 + max(1, int(np.searchsorted(np.arange(1, 13) * STEP_M, arm.length_m)))]


def _aimed(one: Arm, two: Arm) -> float:
    last = int(AIM_M / STEP_M)
    into, out = one.out[1] - one.out[last], two.out[last] - two.out[1]
    return float(np.arctan2(into[0] * out[1] - into[1] * out[0], into @ out))


def rounded(line: Floats) -> tuple[Floats, Floats]:
    """Give a line as ridden over a junction: ``(n,)`` metres of it, and smoothed ``(n, 2)``."""
    dist = polyline.stations(polyline.length_m(line), STEP_M / 2)
    even = polyline.at(line, dist)
    weights = np.ones(len(even))
    weights[[0, -1]] = PINNED
    step = float(dist[1])
    return dist, smooth(even, weights, step_m=step, scale_m=ROUNDING_M / 2, order=2)


def _counted(arm: Arm, off_m: float, features: Mapping[StretchId, Sequence[Feature]]) -> bool:
    """Tell whether the place ``off_m`` out along an arm lies in a corner of its stretch."""
    if off_m < 0:
        return False
    at = off_m if arm.arc[1] is Way.FORWARD else arm.length_m - off_m
    return any(
        f.kind is FeatureKind.CORNER and f.from_m - STEP_M <= at <= f.to_m + STEP_M
        for f in features[arm.arc[0]]
    )


def _banked(arm: Arm, pieces: Mapping[StretchId, Piece]) -> bool:
    at = 0.0 if arm.arc[1] is Way.FORWARD else arm.length_m
    return span_at(pieces[arm.arc[0]].spans, at).banked


def _turned(found: tuple[Bend, float, bool] | None, after: Arm, sign: int) -> Feature | None:
    """Give the corner as a feature of the stretch ridden into, turned as ridden."""
    if found is None:
        return None
    bend, half, banked = found
    near = min(half, after.length_m)
    forward = after.arc[1] is Way.FORWARD
    return Feature(
        kind=FeatureKind.CORNER,
        stretch=after.arc[0],
        from_m=0.0 if forward else after.length_m - near,
        to_m=near if forward else after.length_m,
        at_m=0.0 if forward else after.length_m,
        way=FeatureWay.FORWARD if forward else FeatureWay.BACKWARD,
        turn_deg=float(np.degrees(bend.turn)) * sign,
        radius_m=bend.radius_m,
        tight=bend.tight,
        banked=banked,
    )


def _funnels(
    before: Arc,
    after: Arc,
    pieces: Mapping[StretchId, Piece],
    features: Mapping[StretchId, Sequence[Feature]],
) -> bool:
    """Tell whether a straight of ``before`` ends wide and ``after`` begins narrow."""
    piece, next_piece = pieces[before[0]], pieces[after[0]]
    forward = before[1] is Way.FORWARD
    leaves = span_at(piece.spans, piece.length_m if forward else 0.0).width
    enters = span_at(
        next_piece.spans, 0.0 if after[1] is Way.FORWARD else next_piece.length_m
    ).width
    if (leaves, enters) != ("wide", "narrow"):
        return False
    ends = [
        piece.length_m - f.to_m if forward else f.from_m
        for f in features[before[0]]
        if f.kind is FeatureKind.STRAIGHT
    ]
    return any(end <= FUNNEL_WITHIN_M for end in ends)
