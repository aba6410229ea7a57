"""All features of one stretch.

Gets its profile and ground; gives features in forward metres, each with the way it counts.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from loopwright.features.bends import CORNER_TURN, Bend, bends
from loopwright.features.certainty import blur_of, least_turn_of
from loopwright.features.ground import metres, span_at
from loopwright.features.rises import Rise, climbs, steep_climbs
from loopwright.features.straights import steady_parts, straights
from loopwright.model.ground import Feature, FeatureKind, FeatureWay, GroundSpan, Profile
from loopwright.model.ids import StretchId
from loopwright.model.network import Stretch

ROUGH_LENGTH_M = 10.0
FUNNEL_WITHIN_M = 30.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Piece:
    """A stretch with what its features are read from."""

    stretch: StretchId
    profile: Profile
    spans: tuple[GroundSpan, ...]
    blur_m: float = 0.0
    """How far the centre line has to be smoothed to tell its corners, see ``bends``."""
    least_turn: float = CORNER_TURN
    """What a bend has to turn to be a corner, in radians."""

    @property
    def length_m(self) -> float:
        """Length in metres."""
        return float(self.profile.dist_m[-1])


def piece_of(stretch: Stretch, profile: Profile, spans: tuple[GroundSpan, ...]) -> Piece:
    """Put a stretch of a network and what is known of it together."""
    return Piece(
        stretch=stretch.id,
        profile=profile,
        spans=spans,
        blur_m=blur_of(stretch),
        least_turn=least_turn_of(stretch),
    )


def features_of(piece: Piece) -> list[Feature]:
    """Features of one stretch, sorted by kind and place."""
    dist, ele = piece.profile.dist_m, piece.profile.ele_m
    found: list[Feature] = []
    corners = bends(dist, piece.profile.xy, blur_m=piece.blur_m, least_turn=piece.least_turn)
    for rising, way in ((1.0, FeatureWay.FORWARD), (-1.0, FeatureWay.BACKWARD)):
        there = FeatureWay.BACKWARD if rising > 0 else FeatureWay.FORWARD
        ups = _rises(piece, climbs(dist[:: int(rising)] * rising, ele[:: int(rising)]), way, rising)
        steep = _rises(
            piece, steep_climbs(dist[:: int(rising)] * rising, ele[:: int(rising)]), way, rising
        )
        downs = [_down(up, there) for up in ups]
        found += [*ups, *(replace(s, kind=FeatureKind.STEEP_CLIMB) for s in steep), *downs]
        found += [rough for down in downs for rough in _rough(piece, down)]
    found += [_corner(piece, bend) for bend in corners]
    level = [_level(piece, run, FeatureKind.STRAIGHT) for run in straights(piece.profile)]
    found += level
    found += [f for straight in level for f in _funnels(piece, straight)]
    found += [
        _level(piece, run, FeatureKind.STEADY) for run in steady_parts(piece.profile, corners)
    ]
    return sorted(found, key=lambda f: (f.kind, f.from_m, f.to_m, f.way))


def _rises(piece: Piece, rises: list[Rise], way: FeatureWay, rising: float) -> list[Feature]:
    dist = piece.profile.dist_m[:: int(rising)]
    return [
        Feature(
            kind=FeatureKind.CLIMB,
            stretch=piece.stretch,
            from_m=float(min(dist[rise.first], dist[rise.last])),
            to_m=float(max(dist[rise.first], dist[rise.last])),
            at_m=float(dist[rise.first] + dist[rise.last]) / 2,
            way=way,
            gain_m=rise.gain_m,
            grade_mean=rise.grade_mean,
            grade_max=rise.grade_max,
        )
        for rise in rises
    ]


def _down(up: Feature, way: FeatureWay) -> Feature:
    mean, steepest = -up.grade_mean, -up.grade_max
    return replace(up, kind=FeatureKind.DESCENT, way=way, grade_mean=mean, grade_max=steepest)


def _rough(piece: Piece, down: Feature) -> Iterator[Feature]:
    """Parts of a descent on rough ground, touching spans put together."""
    edges: list[tuple[float, float]] = []
    for span, share in metres(piece.spans, down.from_m, down.to_m):
        if not span.rough:
            continue
        low = max(span.from_m, down.from_m)
        if edges and edges[-1][1] == low:
            edges[-1] = (edges[-1][0], low + share)
        else:
            edges.append((low, low + share))
    for low, high in edges:
        if high - low >= ROUGH_LENGTH_M:
            yield _part_of(piece, down, low, high)


def _part_of(piece: Piece, down: Feature, low: float, high: float) -> Feature:
    fall = float(
        np.abs(np.diff(np.interp([low, high], piece.profile.dist_m, piece.profile.ele_m))[0])
    )
    return replace(
        down,
        kind=FeatureKind.ROUGH_DESCENT,
        from_m=low,
        to_m=high,
        at_m=(low + high) / 2,
        gain_m=fall,
        grade_mean=-fall / (high - low),
    )


def _corner(piece: Piece, bend: Bend) -> Feature:
    dist = piece.profile.dist_m
    at_m = float(dist[bend.at])
    return Feature(
        kind=FeatureKind.CORNER,
        stretch=piece.stretch,
        from_m=float(dist[bend.first]),
        to_m=float(dist[bend.last]),
        at_m=at_m,
        way=FeatureWay.BOTH,
        turn_deg=float(np.degrees(bend.turn)),
        radius_m=bend.radius_m,
        tight=bend.tight,
        banked=span_at(piece.spans, at_m).banked,
    )


def _level(piece: Piece, run: tuple[int, int], kind: FeatureKind) -> Feature:
    dist = piece.profile.dist_m
    low, high = float(dist[run[0]]), float(dist[run[1]])
    return Feature(
        kind=kind,
        stretch=piece.stretch,
        from_m=low,
        to_m=high,
        at_m=(low + high) / 2,
        way=FeatureWay.BOTH,
        grade_mean=float(
            np.interp(high, dist, piece.profile.ele_m) - np.interp(low, dist, piece.profile.ele_m)
        )
        / (high - low),
        grade_max=float(np.abs(piece.profile.grade[run[0] : run[1] + 1]).max()),
    )


def _funnels(piece: Piece, straight: Feature) -> Iterator[Feature]:
    for way in (FeatureWay.FORWARD, FeatureWay.BACKWARD):
        if narrows(piece.spans, straight, way) is not None:
            yield replace(straight, kind=FeatureKind.FUNNEL, way=way)


def narrows(spans: Sequence[GroundSpan], straight: Feature, way: FeatureWay) -> float | None:
    """Metres from a straight's end to where wide ground turns narrow, ridden ``way``.

    None if it does not within ``FUNNEL_WITHIN_M``. Ground may turn narrow on the straight's last
    30 m too; what lies between must be wide all along.
    """
    ahead = way is FeatureWay.FORWARD
    end = straight.to_m if ahead else straight.from_m
    row = spans if ahead else spans[::-1]
    for before, after in pairwise(row):
        edge = before.to_m if ahead else before.from_m
        beyond = (edge - end) if ahead else (end - edge)
        if (before.width, after.width) == ("wide", "narrow") and abs(beyond) <= FUNNEL_WITHIN_M:
            return beyond
    return None
