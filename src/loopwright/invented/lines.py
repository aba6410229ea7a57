"""Lines that look like trail: wiggles, zigzags, rings, lines side by side.

Gets end points and a seeded generator; gives ``(n, 2)`` lines of about one metre spacing in local
metres. Promises: the first and last point are exactly those asked for.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from loopwright.geo.planar import left_of
from loopwright.geo.polyline import along, at, resample
from loopwright.model.arrays import Floats

STEP_M = 1.0
TAPER_M = 40.0


def frame_between(a: Floats, b: Floats) -> tuple[Floats, Floats, float]:
    """Give unit vectors ``(2,)`` along and left of the way from ``a`` to ``b``, and metres."""
    gap = b - a
    size = float(np.hypot(*gap))
    ahead = gap / size
    return ahead, np.array([-ahead[1], ahead[0]]), size


def straight(a: Floats, b: Floats) -> Floats:
    """Draw the straight line from ``a`` to ``b``."""
    return resample(np.vstack((a, b)), STEP_M)


def wiggle(rng: np.random.Generator, a: Floats, b: Floats, *, scale: float) -> Floats:
    """Draw a winding line from ``a`` to ``b``; ``scale`` 0 is straight, 1 is singletrack.

    Bends of 55 to 140 m wave length with radii of about 15 m and more, and one broad bow. The ends
    leave within a few degrees of straight, so that junction angles stay as planned.
    """
    ahead, left, size = frame_between(a, b)
    run = np.linspace(0.0, size, max(3, int(size) + 1))
    waves = rng.uniform(55.0, 140.0, 3)
    swings = waves * rng.uniform(0.02, 0.085, 3)
    phases = rng.uniform(0.0, 2 * np.pi, 3)
    off = (swings[:, None] * np.sin(2 * np.pi * run / waves[:, None] + phases[:, None])).sum(axis=0)
    off = off + rng.uniform(-0.08, 0.08) * size * np.sin(np.pi * run / size)
    off = off * scale * _taper(run, size)
    line = a + run[:, None] * ahead + off[:, None] * left
    return pinned(resample(line, STEP_M), a, b)


def _taper(run: Floats, size: float) -> Floats:
    room = min(TAPER_M, size / 3)
    share = np.clip(np.minimum(run, size - run) / room, 0.0, 1.0)
    return np.asarray(share**2 * (3 - 2 * share), dtype=np.float64)


def pinned(line: Floats, a: Floats, b: Floats) -> Floats:
    """Give the line with its ends put exactly on ``a`` and ``b``."""
    out = np.array(line)
    out[0], out[-1] = a, b
    return out


def zigzag(  # one hairpin after another
    rng: np.random.Generator, a: Floats, b: Floats, *, legs: int, leg_m: float, gap_m: float
) -> Floats:
    """Draw a line from ``a`` to ``b`` with hairpin legs ``gap_m`` apart, ``leg_m`` long."""
    ahead, left, size = frame_between(a, b)
    depth = (legs - 1) * gap_m
    begin = (size - depth) / 2
    local = _zigzag_local(legs=legs, half_m=leg_m / 2, gap_m=gap_m) + np.array([begin, 0.0])
    middle = a + local[:, :1] * ahead + local[:, 1:] * left
    into = wiggle(rng, a, middle[0], scale=0.5)
    out = wiggle(rng, middle[-1], b, scale=0.5)
    line = np.vstack((into, middle[1:-1], out))
    return pinned(resample(line, STEP_M), a, b)


def _zigzag_local(*, legs: int, half_m: float, gap_m: float) -> Floats:
    entry = 5.0
    parts = [_bend((-entry, entry), entry, -90.0, 90.0)]
    side = 1.0
    for leg in range(legs - 1):
        middle = ((leg + 0.5) * gap_m, side * half_m)
        parts.append(_bend(middle, gap_m / 2, 180.0, -180.0 * side))
        side = -side
    last = (legs - 1) * gap_m
    parts.append(_bend((last + entry, -side * entry), entry, 180.0, -90.0 * side))
    return np.vstack(parts)


def _bend(centre: tuple[float, float], radius: float, from_deg: float, turn_deg: float) -> Floats:
    count = max(3, int(radius * abs(np.radians(turn_deg)) / 0.5))
    angle = np.radians(np.linspace(from_deg, from_deg + turn_deg, count))
    return np.column_stack(
        (centre[0] + radius * np.cos(angle), centre[1] + radius * np.sin(angle)),
    )


def ring(rng: np.random.Generator, seam: Floats, *, outward: Floats, length_m: float) -> Floats:
    """Draw a closed rounded line of about ``length_m`` through ``seam``, ``outward`` of it."""
    radius = length_m / (2 * np.pi)
    angle = np.linspace(0.0, 2 * np.pi, int(length_m))
    lobes = rng.uniform(0.05, 0.12, 2)
    phase = rng.uniform(0.0, 2 * np.pi, 2)
    swell = lobes @ (np.sin(np.array([[2.0], [3.0]]) * angle + phase[:, None]))
    size = radius * (1 + swell - swell[0])
    ahead = outward / np.hypot(*outward)
    left = np.array([-ahead[1], ahead[0]])
    east, north = radius - size * np.cos(angle), size * np.sin(angle)
    line = seam + east[:, None] * ahead + north[:, None] * left
    return pinned(resample(line, STEP_M), seam, seam)


def beside(line: Floats, *, from_m: float, to_m: float, gap_m: float, lead_m: float) -> Floats:
    """Draw a second line ``gap_m`` to the left of ``line`` from ``from_m`` to ``to_m`` along it.

    It leaves and comes back over ``lead_m`` at a fork's angle, so its ends lie on ``line``.
    """
    run = np.arange(from_m, to_m + STEP_M / 2, STEP_M)
    run[-1] = to_m
    base = at(line, run)
    step = np.gradient(base, axis=0)
    left = left_of(step) / np.hypot(*step.T)[:, None]
    room = np.clip(np.minimum(run - from_m, to_m - run) / lead_m, 0.0, 1.0)
    off = gap_m * np.sin(np.pi / 2 * room)
    return pinned(resample(base + off[:, None] * left, STEP_M), base[0], base[-1])


def part(line: Floats, from_m: float, to_m: float) -> Floats:
    """Cut out the line between two distances along it, both ends exact."""
    have = along(line)
    inside = (have > from_m) & (have < to_m)
    ends = at(line, np.array([from_m, to_m]))
    return np.vstack((ends[:1], line[inside], ends[1:]))


def chain(parts: list[Floats], *, round_m: float) -> Floats:
    """Lines end to end as one, its kinks rounded over about ``round_m``; ends stay."""
    whole = np.vstack([parts[0], *[after[1:] for _, after in pairwise(parts)]])
    whole = resample(whole, STEP_M)
    reach = int(3 * round_m)
    kernel = np.exp(-0.5 * (np.arange(-reach, reach + 1) / round_m) ** 2)
    kernel /= kernel.sum()
    held = np.pad(whole, ((reach, reach), (0, 0)), mode="reflect", reflect_type="odd")
    smooth = np.column_stack([np.convolve(held[:, k], kernel, mode="valid") for k in (0, 1)])
    return pinned(resample(smooth, STEP_M), whole[0], whole[-1])
