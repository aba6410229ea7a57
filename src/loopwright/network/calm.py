"""Smooth rides where they err much.

Gets samples and their errors; gives the samples with less of the scribble that a receiver draws
in deep shade. Where errors are usual, nothing is changed.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from loopwright.geo.quadratics import quadratics
from loopwright.model.arrays import Floats
from loopwright.network.attract import headings
from loopwright.network.samples import STEP_M, Samples

ERRORS_M = (6.0, 8.5, 12.0)
SPANS_M = (5.0, 35.0, 65.0)
"""Errors in metres and the span of the quadratics fitted there: detail finer than some five errors
is not to be told from them."""


def calmed(samples: Samples, sigma: Floats) -> Samples:
    """Smooth the samples whose error ``sigma`` ``(n,)`` is large."""
    if not (sigma > ERRORS_M[0]).any():
        return samples
    xy = samples.xy
    for low, high, span_m in zip(ERRORS_M[:-1], ERRORS_M[1:], SPANS_M[1:], strict=True):
        share = np.clip((sigma - low) / (high - low), 0.0, 1.0)[:, None]
        xy = (1.0 - share) * xy + share * _fitted(samples, span_m)
    return replace(samples, xy=xy, head=headings(xy, samples.first))


def _fitted(samples: Samples, span_m: float) -> Floats:
    out = samples.xy.copy()
    rows = round(span_m / STEP_M) // 2 * 2 + 1
    for a, b in zip(samples.first[:-1].tolist(), samples.first[1:].tolist(), strict=True):
        window = min(rows, (b - a - 1) // 2 * 2 + 1)
        if window >= 5:
            out[a:b] = quadratics(samples.xy[a:b], window)
    return out
