"""Faults of real recordings, put into clean ones.

Gets sampled positions; gives them with spikes, freezes and gaps. Promises: sample order is kept,
nothing is changed where a rate is zero.
"""

from __future__ import annotations

import numpy as np

from loopwright.invented.receiver import Faults
from loopwright.model.arrays import Floats

HOUR_S = 3600.0


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
