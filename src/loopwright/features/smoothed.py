"""Every stretch as a smoothed profile.

Gets a network; gives a profile per stretch. Heights are smoothed freely first, brought to one
height at each junction, then smoothed again with their ends held there. How much to smooth, for
heights and for lines, is read from the network itself.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from loopwright.geo import polyline
from loopwright.geo.curvature import curvature
from loopwright.geo.whittaker import PINNED, Strength, choose, slope_error, smooth
from loopwright.jobs import Report, watched
from loopwright.model.arrays import Floats
from loopwright.model.ground import Profile
from loopwright.model.ids import JunctionId, StretchId
from loopwright.model.network import Network, Stretch

STEP_M = 2.5
BLOCK = 4
"""Heights are judged on means of four stations: errors of neighbours are alike."""
HEIGHT_SCALES_M = tuple(6.0 * 1.25**k for k in range(18))
LINE_SCALES_M = tuple(1.2 * 1.2**k for k in range(10))
HEIGHT_ORDER = 2
LINE_ORDER = 3
LEAST_LENGTH_M = 0.01
"""A stretch of no length at all is given this much, so that nothing is divided by nought."""
SAMPLE_STATIONS = 8_000
"""Enough stations to judge the noise by."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Raw:
    """A stretch at even stations, not smoothed yet."""

    stretch: Stretch
    dist_m: Floats
    xy: Floats
    ele_m: Floats

    @property
    def step_m(self) -> float:
        return float(self.dist_m[-1]) / (len(self.dist_m) - 1)


def profiles_of(network: Network, report: Report) -> dict[StretchId, Profile]:
    """Smooth every stretch of ``network``; raises Cancelled when ``report`` says so."""
    raw = [_raw(stretch) for stretch in watched(network.stretches, report.check)]
    heights = height_strength([r.ele_m for r in raw], report.check)
    lines = line_strength([r.xy for r in raw], report.check)
    free = [_heights(r, heights, None) for r in watched(raw, report.check)]
    held = _junction_heights(raw, free)
    return {r.stretch.id: _profile(r, heights, lines, held) for r in watched(raw, report.check)}


def height_strength(series: list[Floats], check: Callable[[], None] | None = None) -> Strength:
    """How to smooth heights ``(n,)`` at ``STEP_M``; the noise is that of one block."""
    blocks = [_blocks(values) for values in _some(series)]
    step = STEP_M * BLOCK
    return choose(blocks, step_m=step, order=HEIGHT_ORDER, scales_m=HEIGHT_SCALES_M, check=check)


def line_strength(series: list[Floats], check: Callable[[], None] | None = None) -> Strength:
    """How to smooth lines ``(n, 2)`` at ``STEP_M``."""
    some = _some(series)
    return choose(some, step_m=STEP_M, order=LINE_ORDER, scales_m=LINE_SCALES_M, check=check)


def _some(series: list[Floats]) -> list[Floats]:
    """Every k-th series, so that about ``SAMPLE_STATIONS`` remain."""
    every = max(1, sum(map(len, series)) // SAMPLE_STATIONS)
    return series[::every]


def _blocks(values: Floats) -> Floats:
    """Means over even blocks of about ``BLOCK`` stations, the same read from either end."""
    count = max(1, len(values) // BLOCK)
    total = np.concatenate(([0.0], np.cumsum(values)))
    edges = np.linspace(0, len(values), count + 1)
    return np.diff(np.interp(edges, np.arange(len(total)), total)) * count / len(values)


def _raw(stretch: Stretch) -> _Raw:
    have = polyline.along(stretch.xy)
    dist = polyline.stations(max(float(have[-1]), LEAST_LENGTH_M), STEP_M)
    return _Raw(
        stretch=stretch,
        dist_m=dist,
        xy=polyline.at(stretch.xy, dist),
        ele_m=_filled(dist, have, stretch.ele_m),
    )


def _filled(dist: Floats, have: Floats, ele: Floats) -> Floats:
    """Heights at ``dist``, holes bridged; NaN everywhere if none is known."""
    known = np.isfinite(ele)
    if not known.any():
        return np.full(len(dist), np.nan)
    return np.interp(dist, have[known], ele[known])


def _heights(raw: _Raw, strength: Strength, ends: tuple[float, float] | None) -> Floats:
    if not np.isfinite(raw.ele_m).all():
        return raw.ele_m
    values, weights = np.array(raw.ele_m), np.ones(len(raw.ele_m))
    if ends is not None:
        values[[0, -1]] = ends
        weights[[0, -1]] = PINNED
    scale, step = strength.scale_m, raw.step_m
    ele = smooth(values, weights, step_m=step, scale_m=scale, order=strength.order)
    if ends is None:
        return ele
    # On flat ground the smoother is too stiff to be held: tilt what it misses away.
    return ele + np.linspace(ends[0] - ele[0], ends[1] - ele[-1], len(ele))


def _junction_heights(raw: list[_Raw], free: list[Floats]) -> dict[JunctionId, float]:
    found: dict[JunctionId, list[float]] = {}
    for r, ele in zip(raw, free, strict=True):
        for junction, value in ((r.stretch.start, ele[0]), (r.stretch.end, ele[-1])):
            if np.isfinite(value):
                found.setdefault(junction, []).append(float(value))
    return {junction: float(np.mean(values)) for junction, values in found.items()}


def _profile(
    raw: _Raw, heights: Strength, lines: Strength, held: dict[JunctionId, float]
) -> Profile:
    ends = (held.get(raw.stretch.start, np.nan), held.get(raw.stretch.end, np.nan))
    ele = _heights(raw, heights, ends)
    xy = smooth_line(raw.xy, step_m=raw.step_m, strength=lines)
    return Profile(
        dist_m=raw.dist_m,
        xy=xy,
        ele_m=ele,
        grade=np.gradient(ele, raw.dist_m),
        grade_error=_grade_error(raw, heights),
        curvature_per_m=curvature(xy),
    )


def smooth_line(xy: Floats, *, step_m: float, strength: Strength) -> Floats:
    """Smooth a line ``(n, 2)`` with both ends held."""
    weights = np.ones(len(xy))
    weights[[0, -1]] = PINNED
    scale = strength.scale_m
    return smooth(xy, weights, step_m=step_m, scale_m=scale, order=strength.order)


def _grade_error(raw: _Raw, heights: Strength) -> Floats:
    count = len(raw.dist_m)
    if not np.isfinite(raw.ele_m).all():
        return np.full(count, np.nan)
    # A block's noise holds for every block; as white noise of single stations it is twice that.
    noise = heights.noise_m * float(np.sqrt(BLOCK))
    single = Strength(scale_m=heights.scale_m, noise_m=noise, order=heights.order)
    return slope_error(count, step_m=STEP_M, strength=single)
