"""How a position recorder errs.

Gets true places and times; gives what a recorder writes. The model: per axis an offset per ride
plus a first-order autocorrelated error (Ornstein-Uhlenbeck), a height offset per device with a
slow drift, and the faults of real recordings. Promises: deterministic for the same generator.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.signal import lfilter

from loopwright.invented.shade import shade_at
from loopwright.model.arrays import Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Receiver:
    """A recorder. ``error_m`` is the standard deviation of one axis, all parts together.

    ``offset_share`` of the variance is a constant per ride, ``white_share`` is fresh at every
    sample, the rest fades with ``fade_s``. Heights: ``height_error_m`` fading with the same time,
    an offset drawn from +-``height_offset_m`` per ride, a drift of ``height_drift_m`` over
    half an hour.
    """

    error_m: float = 3.0
    offset_share: float = 0.25
    white_share: float = 0.01
    fade_s: tuple[float, float] = (30.0, 120.0)
    height_error_m: float = 1.0
    height_offset_m: float = 15.0
    height_drift_m: float = 2.0
    shade: float = 0.0
    """How many times the error is added in the deepest shade; 0 for open ground everywhere."""
    shade_seed: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Faults:
    """Faults per hour of riding, and shares of rides. All zero is a faultless recording."""

    spikes: float = 0.0
    freezes: float = 0.0
    gaps: float = 0.0
    strays: float = 0.0
    """Excursions of 10 to 40 m that last 20 to 100 s, as reflections off rock and walls make."""
    bends_only: float = 0.0
    """Share of rides recorded only where the way bends, as some recorders do to save room."""
    pauses: float = 0.0
    pause_scatter_m: float = 3.0
    repeated: float = 0.0
    """Share of rides in which every sample is written twice."""
    no_height: float = 0.0
    """Share of rides with no heights at all."""
    zero_height: float = 0.0
    """Share of rides whose heights are all zero."""
    no_time: float = 0.0
    """Share of rides without times."""


CLEAN = Faults()
USUAL = Faults(spikes=2.0, freezes=1.0, gaps=1.0, pauses=3.0)


def fading(rng: np.random.Generator, dt_s: Floats, fade_s: float, columns: int) -> Floats:
    """First-order autocorrelated noise ``(n, columns)`` of unit s.d. for steps ``(n - 1,)``."""
    keep = np.exp(-dt_s / fade_s)
    fresh = rng.standard_normal((len(dt_s) + 1, columns))
    if len(dt_s) and np.ptp(dt_s) == 0:
        return _even_fading(fresh, float(keep[0]))
    out = np.empty_like(fresh)
    out[0] = fresh[0]
    for k, share in enumerate(keep):
        out[k + 1] = share * out[k] + np.sqrt(1 - share**2) * fresh[k + 1]
    return out


def _even_fading(fresh: Floats, keep: float) -> Floats:
    drive = fresh * np.sqrt(1 - keep**2)
    drive[0] = fresh[0]
    return np.asarray(lfilter([1.0], [1.0, -keep], drive, axis=0), dtype=np.float64)


def misplace(rng: np.random.Generator, xy: Floats, time_s: Floats, receiver: Receiver) -> Floats:
    """Positions ``(n, 2)`` as the receiver sees them."""
    steady = 1.0 - receiver.offset_share - receiver.white_share
    slow = fading(rng, np.diff(time_s), float(rng.uniform(*receiver.fade_s)), 2)
    error = (
        np.sqrt(receiver.offset_share) * rng.standard_normal(2)
        + np.sqrt(steady) * slow
        + np.sqrt(receiver.white_share) * rng.standard_normal(xy.shape)
    )
    worse = 1.0 + receiver.shade * shade_at(xy, receiver.shade_seed) if receiver.shade else 1.0
    return np.asarray(xy + receiver.error_m * np.multiply(error.T, worse).T, dtype=np.float64)


def misjudge(rng: np.random.Generator, ele_m: Floats, time_s: Floats, receiver: Receiver) -> Floats:
    """Heights ``(n,)`` as the receiver sees them."""
    dt_s = np.diff(time_s)
    quick = fading(rng, dt_s, float(np.mean(receiver.fade_s)), 1)[:, 0]
    slow = fading(rng, dt_s, 1800.0, 1)[:, 0]
    offset = rng.uniform(-receiver.height_offset_m, receiver.height_offset_m)
    seen = ele_m + offset + receiver.height_error_m * quick + receiver.height_drift_m * slow
    return np.asarray(seen, dtype=np.float64)
