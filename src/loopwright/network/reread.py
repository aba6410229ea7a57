"""Read recordings with far points once more, along the lines found at first.

Gets samples as recorded and as aligned, and a web; gives the samples with every curve that was
guessed between far points laid along the lines its ride most likely took. All recorded points
together show a bend that each ride by itself cuts. Promises: recorded points keep their places to
half a metre, pieces with close points stay as they are.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from loopwright.geo.polyline import along
from loopwright.model.arrays import Floats
from loopwright.network.attract import Aligned, headings
from loopwright.network.samples import SPARSE_M, STEP_M, Samples
from loopwright.network.ways import UNSEEN, Route, Spot, Ways
from loopwright.network.web import Web

REACH_M = 9.0
"""No aligned point lies further from its trail."""
OFF_M = 2.5
"""How far an aligned point lies from its line: the error left after alignment."""
LONGER_M = 8.0
"""A way that counts so many metres more than the straight gap is less likely by a factor e."""
SHORTER_M = 2.0
"""So much for a way shorter than the gap, which only the errors of both points allow."""
OWN, NOWHERE = 4.0, 5.0
"""What it costs to keep the curve as it was, and to have a point on no line: negative logs of how
likely either is. The latter is what a point 8 m off costs."""
TURNS, TURNS_M = 1.6, 10.0
"""A way may be so many times as long as the gap, and so much longer besides."""
USUAL = 1.5
"""Or so many times the usual gap there: in a hairpin points far apart along the trail are near."""
AROUND = 3
"""Gaps before and after that tell the usual one."""
MOSTLY = 0.8
"""Share of the riding from which reading again is worth building again. With more closer
recordings these show the bends, and far points read again only blur lines side by side: on 20 hard
parks with half of the riding far apart, one junction in a hundred was lost."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Points:
    """Recorded points of one piece: fractional sample ``row`` ``(k,)``, aligned ``xy`` ``(k, 2)``.

    ``moved`` ``(k, 2)`` metres is what alignment moved them by.
    """

    row: Floats
    xy: Floats
    moved: Floats


@dataclass(frozen=True, slots=True)
class _Curve:
    """A way through a piece: ``xy`` ``(k, 2)`` metres, old sample ``row`` ``(k,)``, fractional."""

    xy: Floats
    row: Floats


def mostly_far(samples: Samples) -> bool:
    """Tell whether most riding was recorded with far points; else lines are good at once."""
    return bool(np.mean(samples.spacing[samples.piece] > SPARSE_M) > MOSTLY)


def reread(samples: Samples, aligned: Aligned, web: Web) -> Samples:
    """Lay what was guessed between far points along the lines of ``web``."""
    points = [_points(samples, aligned, piece) for piece in range(len(samples.spacing))]
    ways = Ways(web, np.concatenate([one.xy for one in points]))
    curves = [
        _curve(samples, piece, one, _routes(ways, one.xy), ways)
        if samples.spacing[piece] > SPARSE_M and len(one.row) > 1
        else None
        for piece, one in enumerate(points)
    ]
    return _resampled(samples, curves)


def _points(samples: Samples, aligned: Aligned, piece: int) -> _Points:
    rows = np.arange(samples.first[piece], samples.first[piece + 1])
    place = samples.place[rows]
    row = np.interp(np.arange(np.ceil(place[0]), np.floor(place[-1]) + 1), place, rows)
    xy = _between(aligned.xy, row)
    return _Points(row=row, xy=xy, moved=xy - _between(samples.xy, row))


def _between(values: Floats, row: Floats) -> Floats:
    """Give ``values`` ``(n, ...)`` at fractional rows ``(k,)``; a whole row takes just its own."""
    low = row.astype(np.int64)
    share = (row - low).reshape(-1, *[1] * (values.ndim - 1))
    high = np.where(row > low, low + 1, low)
    return np.asarray(values[low] * (1.0 - share) + values[high] * share)


def _routes(ways: Ways, xy: Floats) -> list[Route | None]:
    """Find the likeliest way from point to point ``(k, 2)``, None where the curve is kept.

    A hidden state is a spot on a line, or none; after Newson and Krumm (2009, doi
    10.1145/1653771.1653818), by the Viterbi algorithm.
    """
    gap = np.hypot(*np.diff(xy, axis=0).T)
    states: list[list[Spot | None]] = [[*spots, None] for spots in ways.spots(xy, REACH_M)]
    cost = np.array([_off(spot) for spot in states[0]])
    steps = []
    for k, (before, after) in enumerate(pairwise(states)):
        usual = float(np.median(gap[max(0, k - AROUND) : k + AROUND + 1]))
        most_m = max(TURNS * gap[k] + TURNS_M, USUAL * usual)
        links = [[_link(ways, a, b, float(gap[k]), most_m) for a in before] for b in after]
        total = cost + np.array([[link[0] for link in row] for row in links])
        back = total.argmin(axis=1)
        cost = total.min(axis=1) + np.array([_off(spot) for spot in after])
        steps.append([(int(at), row[at][1]) for at, row in zip(back, links, strict=True)])
    at, out = int(cost.argmin()), []
    for step in reversed(steps):
        at, route = step[at]
        out.append(route)
    return out[::-1]


def _off(spot: Spot | None) -> float:
    return NOWHERE if spot is None else 0.5 * (spot.off_m / OFF_M) ** 2


def _link(
    ways: Ways, one: Spot | None, two: Spot | None, gap_m: float, most_m: float
) -> tuple[float, Route | None]:
    """Give what it costs to go from spot to spot, and by which way; None along the old curve."""
    if one is None or two is None:
        return OWN, None
    # The old curve has no points of its own along it.
    own = OWN + UNSEEN * gap_m / LONGER_M
    route = ways.route(one, two, most_m)
    if route is None:
        return own, None
    longer, shorter = max(route.cost_m - gap_m, 0.0), max(gap_m - route.length_m, 0.0)
    cost = longer / LONGER_M + shorter / SHORTER_M
    return (cost, route) if cost < own else (own, None)


def _curve(
    samples: Samples, piece: int, points: _Points, routes: list[Route | None], ways: Ways
) -> _Curve:
    """Put the curve of a piece together from the ways found and, elsewhere, as it was."""
    first, last = samples.first[piece], samples.first[piece + 1] - 1
    parts = [_kept(samples, float(first), points.row[0])]
    for k, route in enumerate(routes):
        low, high = points.row[k], points.row[k + 1]
        near = float(np.hypot(*(points.xy[k + 1] - points.xy[k]))) <= SPARSE_M
        if route is None or near:
            parts.append(_kept(samples, low, high))
        else:
            parts.append(_along(points, k, ways.shape(route)))
    parts.append(_kept(samples, points.row[-1], float(last)))
    xy, row = (np.concatenate([getattr(p, name) for p in parts]) for name in ("xy", "row"))
    new = np.concatenate(([True], np.diff(row) > 0))
    return _Curve(xy[new], row[new])


def _kept(samples: Samples, low: float, high: float) -> _Curve:
    """Keep the old curve between two fractional rows."""
    row = np.unique(np.concatenate(([low], np.arange(np.ceil(low), high), [high])))
    return _Curve(_between(samples.xy, row), row)


def _along(points: _Points, k: int, shape: Floats) -> _Curve:
    """Lay gap ``k`` along ``shape`` ``(n, 2)``, shifted so that it runs from point to point."""
    run = along(shape)
    share = (run / max(run[-1], 1e-9))[:, None]
    ends = points.xy[k : k + 2] - points.moved[k : k + 2] - shape[[0, -1]]
    row = points.row[k] + (points.row[k + 1] - points.row[k]) * share[:, 0]
    return _Curve(shape + ends[0] + (ends[1] - ends[0]) * share, row)


def _resampled(samples: Samples, curves: list[_Curve | None]) -> Samples:
    """Sample the new curves evenly; all else is taken from the old samples beside."""
    parts = [_sampled(samples, piece, curve) for piece, curve in enumerate(curves)]
    xy, dist, row = (np.concatenate(column) for column in zip(*parts, strict=True))
    sizes = [len(part[1]) for part in parts]
    first = np.concatenate(([0], np.cumsum(sizes))).astype(np.int32)
    piece = np.repeat(np.arange(len(sizes), dtype=np.int32), sizes)
    names = ("ele", "point", "time", "loose", "place")
    others = {name: _between(getattr(samples, name), row) for name in names}
    ride = samples.ride[samples.first[piece]]
    return replace(
        samples, xy=xy, head=headings(xy, first), piece=piece, ride=ride, dist=dist, first=first,
        **others,
    )  # fmt: skip


def _sampled(samples: Samples, piece: int, curve: _Curve | None) -> tuple[Floats, Floats, Floats]:
    """Give places, metres along and old rows of the samples of a piece."""
    rows = np.arange(samples.first[piece], samples.first[piece + 1])
    if curve is None:
        return samples.xy[rows], samples.dist[rows], rows.astype(np.float64)
    run = along(curve.xy)
    dist = np.linspace(0.0, run[-1], max(3, round(run[-1] / STEP_M) + 1))
    xy = np.column_stack([np.interp(dist, run, curve.xy[:, k]) for k in (0, 1)])
    return xy, dist + samples.dist[rows[0]], np.interp(dist, run, curve.row)
