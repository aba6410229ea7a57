"""Compiled passes of lap finding: the most likely way along the loop, and the receiver's drift.

Gets flat arrays. Gives arrays. Promises: deterministic; ties go to the lower state.
"""

from __future__ import annotations

import numpy as np

from loopwright.geo.compiled import compiled
from loopwright.model.arrays import Floats, Ints

OFF_COST = 1.4
"""Cost of a sample off the loop: as dear as being 20 m from it."""
SWITCH_COST = 12.0
JUMP_COST = 26.0
"""Leaving or joining the loop, and jumping along it, are rare; a wrong leg of a hairpin is nearer
for many samples in a row, since a receiver's error lasts. Turning round goes by way of one sample
off the loop, which is a little cheaper than a jump."""
GAP_COST = 2.0
FASTEST_MPS = 16.0
SLACK_M = 60.0
"""A break in the recording often begins or ends with a wild fix."""


@compiled
def _step_cost(forward: float, ridden: float, gap_s: float) -> float:
    """Cost of getting ``forward`` metres on while ``ridden`` metres were seen.

    ``gap_s`` above 0 marks a break in the recording: then any honest progress will do.
    """
    if gap_s > 0.0:
        fits = ridden - SLACK_M <= forward <= max(FASTEST_MPS * gap_s, ridden) + SLACK_M
        return GAP_COST if fits else JUMP_COST
    miss = (forward - ridden) / (2.5 + 0.25 * ridden)
    return min(0.5 * miss * miss, JUMP_COST)


@compiled
def near_places(points: Floats, line: Floats, near_m: float, most: int) -> tuple[Ints, Floats]:
    """Local minima of the distance to a closed line, nearest first.

    ``points`` ``(n, 2)`` and ``line`` ``(m, 2)`` in m. Returns places on the line and distances,
    both ``(n, most)``, padded with -1 and infinity; nothing further than ``near_m``.
    """
    n, m = len(points), len(line)
    at = np.full((n, most), -1, dtype=np.int32)
    gap = np.full((n, most), np.inf)
    square = np.empty(m)
    for i in range(n):
        for j in range(m):
            square[j] = (points[i, 0] - line[j, 0]) ** 2 + (points[i, 1] - line[j, 1]) ** 2
        for j in range(m):
            here = square[j]
            if here >= near_m * near_m or here > square[j - 1] or here >= square[(j + 1) % m]:
                continue
            k = most
            while k > 0 and square[j] < gap[i, k - 1] ** 2:
                k -= 1
            for later in range(most - 1, k, -1):
                at[i, later], gap[i, later] = at[i, later - 1], gap[i, later - 1]
            if k < most:
                at[i, k], gap[i, k] = j, np.sqrt(here)
    return at, gap


@compiled
def best_way(places: Floats, cost: Floats, ridden: Floats, gap_s: Floats, length_m: float) -> Ints:
    """Most likely state of each sample, ``(n,)``; the last state is "off the loop".

    ``places`` ``(n, k)`` lap metres with NaN where none, ``cost`` ``(n, 2, k)`` of riding forward
    and backward there, ``ridden`` and ``gap_s`` ``(n,)`` since the sample before. States number
    way * k + place, then 2 k for off.
    """
    n, k = places.shape
    off = 2 * k
    back = np.full((n, off + 1), -1, dtype=np.int32)
    best = np.full(off + 1, 1e18)
    for state in range(off):
        if not np.isnan(places[0, state % k]):
            best[state] = cost[0, state // k, state % k]
    best[off] = OFF_COST
    for i in range(1, n):
        fresh = np.full(off + 1, 1e18)
        low = np.argmin(best)
        fresh[off], back[i, off] = best[off] + OFF_COST, off
        if best[low] + SWITCH_COST < best[off]:
            fresh[off], back[i, off] = best[low] + SWITCH_COST + OFF_COST, low
        for state in range(off):
            here = places[i, state % k]
            if np.isnan(here):
                continue
            way = state // k
            least, origin = best[off] + SWITCH_COST, off
            for j in range(k):
                before = places[i - 1, j]
                if np.isnan(before):
                    continue
                forward = (here - before) if way == 0 else (before - here)
                forward = (forward + 0.25 * length_m) % length_m - 0.25 * length_m
                total = best[way * k + j] + _step_cost(forward, ridden[i], gap_s[i])
                if total < least:
                    least, origin = total, way * k + j
            fresh[state], back[i, state] = least + cost[i, way, state % k], origin
        best = fresh
    states = np.zeros(n, dtype=np.int32)
    states[n - 1] = np.argmin(best)
    for i in range(n - 1, 0, -1):
        states[i - 1] = back[i, states[i]]
    return states


@compiled
def drift(  # noqa: PLR0917 - positional for numba
    normal: Floats, offset: Floats, noise: Floats, time_s: Floats, sigma: float, tau_s: float
) -> tuple[Floats, Floats]:
    """Smoothed receiver error ``(n, 2)`` in m and its covariance ``(n, 3)`` (xx, xy, yy).

    The error is two independent Ornstein-Uhlenbeck processes (``sigma`` m, ``tau_s`` s), seen
    through ``offset`` m across the loop's unit ``normal`` with variance ``noise`` (infinite to
    skip). Kalman filter and Rauch-Tung-Striebel smoother (Rauch, Tung, Striebel 1965).
    """
    n = len(offset)
    mean, cov = np.zeros((n, 2)), np.zeros((n, 3))
    prior_mean, prior_cov = np.zeros((n, 2)), np.zeros((n, 3))
    keep = np.zeros(n)
    x, y, a, b, c = 0.0, 0.0, sigma * sigma, 0.0, sigma * sigma
    for i in range(n):
        if i > 0:
            f = np.exp(-(time_s[i] - time_s[i - 1]) / tau_s)
            q = sigma * sigma * (1.0 - f * f)
            x, y, a, b, c, keep[i] = f * x, f * y, f * f * a + q, f * f * b, f * f * c + q, f
        prior_mean[i, 0], prior_mean[i, 1] = x, y
        prior_cov[i, 0], prior_cov[i, 1], prior_cov[i, 2] = a, b, c
        if np.isfinite(noise[i]):
            u, v = normal[i, 0], normal[i, 1]
            pu, pv = a * u + b * v, b * u + c * v
            s = u * pu + v * pv + noise[i]
            miss = (offset[i] - u * x - v * y) / s
            x, y = x + pu * miss, y + pv * miss
            a, b, c = a - pu * pu / s, b - pu * pv / s, c - pv * pv / s
        mean[i, 0], mean[i, 1] = x, y
        cov[i, 0], cov[i, 1], cov[i, 2] = a, b, c
    for i in range(n - 2, -1, -1):
        f = keep[i + 1]
        a, b, c = prior_cov[i + 1, 0], prior_cov[i + 1, 1], prior_cov[i + 1, 2]
        det = a * c - b * b
        p, q, r = cov[i, 0] * f, cov[i, 1] * f, cov[i, 2] * f
        g00, g01 = (p * c - q * b) / det, (q * a - p * b) / det
        g10, g11 = (q * c - r * b) / det, (r * a - q * b) / det
        dx, dy = mean[i + 1, 0] - prior_mean[i + 1, 0], mean[i + 1, 1] - prior_mean[i + 1, 1]
        mean[i, 0] += g00 * dx + g01 * dy
        mean[i, 1] += g10 * dx + g11 * dy
        da, db, dc = cov[i + 1, 0] - a, cov[i + 1, 1] - b, cov[i + 1, 2] - c
        cov[i, 0] += g00 * (g00 * da + g01 * db) + g01 * (g00 * db + g01 * dc)
        cov[i, 1] += g10 * (g00 * da + g01 * db) + g11 * (g00 * db + g01 * dc)
        cov[i, 2] += g10 * (g10 * da + g11 * db) + g11 * (g10 * db + g11 * dc)
    return mean, cov
