"""Faults of real recordings, put into clean ones.

Gets sampled positions; gives them with spikes, freezes and gaps. Promises: sample order is kept,
nothing is changed where a rate is zero.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from shapely import LineString, distance, points

from loopwright.invented.receiver import Faults
from loopwright.model.arrays import Floats

HOUR_S = 3600.0
BEND_M, LONGEST_S = 3.0, 60.0
"""A saving recorder writes no point that lies this near to its line, but one a minute at least."""


def occasions(rng: np.random.Generator, time_s: Floats, per_hour: float) -> list[int]:
    """Sample numbers at which something happens, rising."""
    if per_hour <= 0.0 or len(time_s) < 10:
        return []
    count = int(rng.poisson(per_hour * (time_s[-1] - time_s[0]) / HOUR_S))
    return sorted(rng.integers(3, len(time_s) - 3, count).tolist())


def spiked(rng: np.random.Generator, xy: Floats, time_s: Floats, faults: Faults) -> Floats:
    """Positions with single wild samples 25 to 90 m off."""
    out = np.array(xy)
    for k in occasions(rng, time_s, faults.spikes):
        angle, size = rng.uniform(0, 2 * np.pi), rng.uniform(25.0, 90.0)
        out[k] += size * np.array([np.cos(angle), np.sin(angle)])
    return out


def strayed(rng: np.random.Generator, xy: Floats, time_s: Floats, faults: Faults) -> Floats:
    """Positions that swing out by 10 to 40 m and back again within 20 to 100 s."""
    out = np.array(xy)
    for k in occasions(rng, time_s, faults.strays):
        angle, size = rng.uniform(0, 2 * np.pi), rng.uniform(10.0, 40.0)
        share = np.clip((time_s - time_s[k]) / rng.uniform(20.0, 100.0), 0.0, 1.0)
        out += np.outer(np.sin(np.pi * share) ** 2, size * np.array([np.cos(angle), np.sin(angle)]))
    return out


def at_bends(xy: Floats, time_s: Floats) -> NDArray[np.intp]:
    """Sample numbers a saving recorder writes: where the way bends by 3 m, and once a minute."""
    kept = np.zeros(len(xy), dtype=bool)
    kept[[0, -1]] = True
    parts = [(0, len(xy) - 1)]
    while parts:
        low, high = parts.pop()
        line = LineString(xy[[low, high]])
        off = distance(points(xy[low + 1 : high]), line)
        if high - low < 2 or (off.max() < BEND_M and time_s[high] - time_s[low] <= LONGEST_S):
            continue
        middle = int(low + 1 + off.argmax()) if off.max() >= BEND_M else (low + high) // 2
        kept[middle] = True
        parts += [(low, middle), (middle, high)]
    return np.flatnonzero(kept)


def frozen(rng: np.random.Generator, xy: Floats, time_s: Floats, faults: Faults) -> Floats:
    """Positions that stand still for 5 to 20 s while the rider goes on."""
    out = np.array(xy)
    for k in occasions(rng, time_s, faults.freezes):
        until = int(np.searchsorted(time_s, time_s[k] + rng.uniform(5.0, 20.0)))
        out[k:until] = out[k]
    return out


def kept_samples(rng: np.random.Generator, time_s: Floats, faults: Faults) -> Floats:
    """Tell which samples ``(n,)`` survive gaps of 10 to 90 s."""
    keep = np.ones(len(time_s), dtype=bool)
    for k in occasions(rng, time_s, faults.gaps):
        until = int(np.searchsorted(time_s, time_s[k] + rng.uniform(10.0, 90.0)))
        keep[k:until] = False
    keep[[0, -1]] = True
    return keep


def pauses_in(
    rng: np.random.Generator, time_s: Floats, faults: Faults
) -> tuple[Floats, list[tuple[float, float]]]:
    """Put stops of 20 to 300 s into the times ``(n,)``; tell when each stop was."""
    out, stops = np.array(time_s), []
    for k in occasions(rng, time_s, faults.pauses):
        held = float(rng.uniform(20.0, 300.0))
        stops.append((float(out[k]), float(out[k]) + held))
        out[k + 1 :] += held
    return out, stops
