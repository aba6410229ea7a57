"""How fast an invented rider goes.

Gets a line and its heights; gives the time at every metre. A plain physical model: power against
gravity, rolling and air; corners capped by grip; braking before them. Promises: times rise.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loopwright.geo.polyline import along, headings
from loopwright.model.arrays import Floats

G = 9.81
AIR = 1.2
LEAST_MPS = 1.2


@dataclass(frozen=True, slots=True, kw_only=True)
class Legs:
    """An invented rider. Powers in W, masses in kg; ``grip`` is sideways over g.

    ``fade_per_km`` is the share of the power lost with every kilometre.
    """

    power_w: float = 230.0
    mass_kg: float = 84.0
    drag_m2: float = 0.38
    rolling: float = 0.02
    grip: float = 0.42
    top_mps: float = 10.5
    braking_mps2: float = 2.8
    pushing_mps2: float = 1.8
    fade_per_km: float = 0.0


def times_along(xy: Floats, ele_m: Floats, legs: Legs, *, standing: bool = True) -> Floats:
    """Seconds ``(n,)`` from the first point to each, for a line of about one metre spacing."""
    run = along(xy)
    step = np.maximum(np.diff(run), 1e-6)
    cap = _braked(_caps(xy, run, legs), step, legs)
    speed = _pushed(cap, step, np.diff(ele_m) / step, legs, standing=standing)
    return np.concatenate(([0.0], np.cumsum(2 * step / (speed[1:] + speed[:-1]))))


def _caps(xy: Floats, run: Floats, legs: Legs) -> Floats:
    heading = np.unwrap(headings(xy))
    bend = np.abs(np.gradient(heading, np.maximum.accumulate(run + np.arange(len(run)) * 1e-9)))
    bend = np.convolve(bend, np.full(5, 0.2), mode="same")
    return np.clip(np.sqrt(legs.grip * G / np.maximum(bend, 1e-4)), LEAST_MPS, legs.top_mps)


def _braked(cap: Floats, step: Floats, legs: Legs) -> Floats:
    out = cap.tolist()
    for k, size in zip(range(len(step) - 1, -1, -1), step[::-1].tolist(), strict=True):
        out[k] = min(out[k], (out[k + 1] ** 2 + 2 * legs.braking_mps2 * size) ** 0.5)
    return np.array(out)


def _pushed(cap: Floats, step: Floats, grade: Floats, legs: Legs, *, standing: bool) -> Floats:
    out, limit = [LEAST_MPS if standing else float(cap[0])], cap.tolist()
    watts = legs.power_w * np.maximum(0.3, 1 - legs.fade_per_km * np.cumsum(step) / 1000)
    rows = zip(step.tolist(), grade.tolist(), watts.tolist(), strict=True)
    for k, (size, slope, power_w) in enumerate(rows):
        v = out[-1]
        pull = min(power_w / v / legs.mass_kg, legs.pushing_mps2)
        hold = G * (slope + legs.rolling) + 0.5 * AIR * legs.drag_m2 * v * v / legs.mass_kg
        out.append(min(limit[k + 1], max(v * v + 2 * (pull - hold) * size, LEAST_MPS**2) ** 0.5))
    return np.array(out)
