"""True features of an invented network, read off its errorless lines.

Gets a network without error; gives corners (45 degrees and more of one-sided turn, radius up to
25 m), climbs and steep climbs. Promises: no smoothing beyond a few metres, so these are what a
perfect survey would find. Corners at junctions are not listed.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from loopwright.geo.polyline import along, resample
from loopwright.model.arrays import Floats
from loopwright.model.ground import Feature, FeatureKind, FeatureWay
from loopwright.model.network import Network, Stretch

CORNER_TURN_DEG = 45.0
CORNER_RADIUS_M = 25.0
TIGHT_RADIUS_M = 6.0
TIGHT_TURN_DEG = 120.0
END_M = 8.0
"""Turns closer to a stretch's end than this belong to the junction."""
CLIMB_GRADE = 0.03
CLIMB_GAIN_M = 6.0
STEEP_GRADE = 0.10
STEEP_M = 30.0
GRADE_OVER_M = 20


def true_features(network: Network) -> tuple[Feature, ...]:
    """All corners and climbs, stretch by stretch."""
    out: list[Feature] = []
    for stretch in network.stretches:
        out.extend(_corners(stretch))
        out.extend(_climbs(stretch, FeatureWay.FORWARD))
        out.extend(_climbs(stretch, FeatureWay.BACKWARD))
    return tuple(out)


def runs(mask: NDArray[np.bool_]) -> Iterator[tuple[int, int]]:
    """First and one-past-last index of every run of true values of ``(n,)``."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], mask, [False])).astype(np.int8)))
    yield from zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True)


def _corners(stretch: Stretch) -> Iterator[Feature]:
    line = resample(stretch.xy, 1.0)
    run = along(line)
    turn = _turning(line)
    step = run[-1] / (len(line) - 1)
    for sign in (1.0, -1.0):
        for first, last in runs(turn * sign > step / CORNER_RADIUS_M):
            corner = _corner(stretch, run, turn, slice(first, last))
            if corner is not None:
                yield corner


def _turning(line: Floats) -> Floats:
    """Turn in radians at each point ``(n,)``, left positive, over a five metre mean."""
    step = np.diff(line, axis=0)
    heading = np.unwrap(np.arctan2(step[:, 1], step[:, 0]))
    turn = np.concatenate(([0.0], np.diff(heading), [0.0]))
    return np.convolve(turn, np.full(5, 0.2), mode="same")


def _corner(stretch: Stretch, run: Floats, turn: Floats, part: slice) -> Feature | None:
    here, total = turn[part], float(turn[part].sum())
    at_m = float((run[part] * here).sum() / total)
    inside = END_M < at_m < run[-1] - END_M
    if abs(np.degrees(total)) < CORNER_TURN_DEG or not inside:
        return None
    from_m, to_m = float(run[part.start]), float(run[part.stop - 1])
    turn_deg = float(np.degrees(total))
    radius = (to_m - from_m) / abs(total)
    tight = radius < TIGHT_RADIUS_M or abs(turn_deg) >= TIGHT_TURN_DEG
    return Feature(
        kind=FeatureKind.CORNER,
        stretch=stretch.id,
        from_m=from_m,
        to_m=to_m,
        way=FeatureWay.BOTH,
        at_m=at_m,
        turn_deg=turn_deg,
        radius_m=radius,
        tight=tight,
    )


def _climbs(stretch: Stretch, way: FeatureWay) -> Iterator[Feature]:
    run = along(stretch.xy)
    sign = 1.0 if way is FeatureWay.FORWARD else -1.0
    even = np.arange(0.0, run[-1], 1.0)
    ele = np.interp(even, run, stretch.ele_m) * sign
    grade = _grades(ele)
    for kind, least, held, gain in (
        (FeatureKind.CLIMB, CLIMB_GRADE, 0.0, CLIMB_GAIN_M),
        (FeatureKind.STEEP_CLIMB, STEEP_GRADE, STEEP_M, 0.0),
    ):
        for first, last in runs(grade >= least):
            rise = float(ele[last - 1] - ele[first])
            if last - first >= held and rise >= gain and last > first + 1:
                yield _climb(stretch, kind, way, from_m=first, rise_m=rise, grade=grade[first:last])


def _grades(ele: Floats) -> Floats:
    """Mean grade over ``GRADE_OVER_M`` at heights ``(n,)`` 1 m apart; ends go on as they are."""
    if len(ele) < 2:
        return np.zeros(len(ele))
    before = GRADE_OVER_M // 2
    whole = np.pad(np.gradient(ele), (before, GRADE_OVER_M - 1 - before), mode="edge")
    return np.convolve(whole, np.full(GRADE_OVER_M, 1 / GRADE_OVER_M), mode="valid")


def _climb(
    stretch: Stretch,
    kind: FeatureKind,
    way: FeatureWay,
    *,
    from_m: int,
    rise_m: float,
    grade: Floats,
) -> Feature:
    return Feature(
        kind=kind,
        stretch=stretch.id,
        from_m=float(from_m),
        to_m=float(from_m + len(grade)),
        way=way,
        at_m=from_m + len(grade) / 2,
        gain_m=rise_m,
        grade_mean=rise_m / len(grade),
        grade_max=float(grade.max()),
    )
