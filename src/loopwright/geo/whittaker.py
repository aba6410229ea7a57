"""Penalised least squares on evenly spaced samples, and how strong the penalty should be.

The smoother minimises ``sum w (y - z)^2 + lam |D^m z|^2`` (Whittaker 1923; Eilers 2003, doi
10.1021/ac034173t). ``lam`` is ``(scale / step)^(2 m)``: waves of 2 pi ``scale`` metres keep half
their height, longer ones nearly all. The scale and the noise are chosen together by restricted
maximum likelihood (Patterson and Thompson 1971, doi 10.1093/biomet/58.3.545), pooled over many
series, so nobody has to say how good the recordings are.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.linalg import cho_solve_banded, cholesky_banded

from loopwright.model.arrays import Floats, floats

PINNED = 1e6
"""Weight of a sample that must be kept."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Strength:
    """How to smooth: the scale and the noise in metres, and the order of the penalty."""

    scale_m: float
    noise_m: float
    order: int


def smooth(values: Floats, weights: Floats, *, step_m: float, scale_m: float, order: int) -> Floats:
    """Smooth ``values`` ``(n,)`` or ``(n, k)``, samples ``step_m`` apart, weights ``(n,)``.

    A sample of weight 0 is filled in and may be NaN. With ``order`` samples or fewer of any
    weight the values come back as they are.
    """
    if len(values) <= order or np.count_nonzero(weights) <= order:
        return np.array(values)
    lam = (scale_m / step_m) ** (2 * order)
    factor = _factor(weights, lam, order)
    w = weights if values.ndim == 1 else weights[:, None]
    return np.asarray(cho_solve_banded((factor, False), w * np.where(w > 0, values, 0.0)))


def choose(
    series: Sequence[Floats],
    *,
    step_m: float,
    order: int,
    scales_m: Sequence[float],
    check: Callable[[], None] | None = None,
) -> Strength:
    """Choose the likeliest of ``scales_m`` for all ``series`` ``(n,)`` or ``(n, k)`` together.

    Series with NaN or with ``order`` samples or fewer are passed over; with none left the
    smallest scale and no noise are returned. ``check`` is called now and then; it may raise to
    stop the work.
    """
    usable = [s for s in series if len(s) > order and bool(np.isfinite(s).all())]
    if not usable:
        return Strength(scale_m=min(scales_m), noise_m=0.0, order=order)
    tried = []
    for scale in scales_m:
        if check is not None:
            check()
        tried.append(_likelihood(usable, step_m, scale, order))
    best = min(range(len(tried)), key=lambda k: tried[k][0])
    return Strength(scale_m=scales_m[best], noise_m=tried[best][1], order=order)


def _likelihood(
    series: Sequence[Floats], step_m: float, scale_m: float, order: int
) -> tuple[float, float]:
    """Minus twice the restricted log likelihood, up to a constant, and the noise in metres."""
    lam = (scale_m / step_m) ** (2 * order)
    fault, free, logs = 0.0, 0, 0.0
    for values in series:
        ones = np.ones(len(values))
        factor = _factor(ones, lam, order)
        fitted = cho_solve_banded((factor, False), values)
        fault += float((values * (values - fitted)).sum())
        columns = 1 if values.ndim == 1 else values.shape[1]
        rows = (len(values) - order) * columns
        free += rows
        logs += 2 * columns * float(np.log(factor[-1]).sum()) - rows * np.log(lam)
    fault = max(fault, 1e-12 * free)
    return free * np.log(fault) + logs, float(np.sqrt(fault / free))


def _factor(weights: Floats, lam: float, order: int) -> Floats:
    band = lam * _penalty(len(weights), order)
    band[-1] += weights
    return np.asarray(cholesky_banded(band, lower=False))


@lru_cache(maxsize=4096)
def _penalty(count: int, order: int) -> Floats:
    """Upper bands ``(order + 1, count)`` of the penalty matrix of differences of ``order``."""
    weights = np.array([1.0])
    for _ in range(order):
        weights = np.convolve(weights, [1.0, -1.0])
    band = np.zeros((order + 1, count))
    for first in range(order + 1):
        for second in range(first, order + 1):
            gap = second - first
            product = weights[first] * weights[second]
            band[order - gap, second : second + count - order] += product
    return floats(band, columns=count)


def slope_error(count: int, *, step_m: float, strength: Strength) -> Floats:
    """Give the standard error ``(count,)`` of the smoothed slope per sample, a ratio.

    The posterior of the model that ``choose`` fits; ends, where only one side is known, included.
    """
    if count <= strength.order + 1:
        return np.full(count, np.inf)
    half = _slope_half(strength.order, strength.scale_m / step_m)
    k = np.arange(count)
    share = half[np.minimum(np.minimum(k, count - 1 - k), len(half) - 1)]
    return share * strength.noise_m / step_m


@lru_cache(maxsize=256)
def _slope_half(order: int, scale: float) -> Floats:
    """Slope error per unit noise and step from an end inwards, ``(61,)``."""
    size = 121
    factor = _factor(np.ones(size), scale ** (2 * order), order)
    spread = cho_solve_banded((factor, False), np.eye(size))
    slope = np.asarray(np.gradient(np.eye(size), axis=0))
    return floats(np.sqrt(np.diag(slope @ spread @ slope.T))[: size // 2 + 1])
