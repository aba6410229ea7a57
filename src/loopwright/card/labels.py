"""Put labels near what they name, without touching each other.

Gets places and label sizes; gives label centres. Promises: labels do not overlap each other or the
blocked boxes as long as there is room at all; the same input gives the same places.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from loopwright.card.boxes import Box
from loopwright.model.arrays import Floats, floats

RINGS_MM = (0.9, 1.9, 3.2, 5.0, 7.5, 11.0, 16.0, 23.0, 32.0)
"""Free distances tried between a place and the edge of its label."""
ANGLES = 24
TOUCH_COST = 9.0
"""Covering the line costs as much as lying this many millimetres farther away."""
LEADER_COST = 6.0
CLASH_COST = 1e6
GAP_MM = 0.35
TOUCH_MM, NEAR_MM = 0.6, 0.9
LEADER_SHARES = np.array((0.45, 0.7, 0.9))


def place_labels(
    places: Floats, sizes: Floats, *, line: Floats, box: Box, blocked: tuple[Box, ...] = ()
) -> Floats:
    """Centres ``(k, 2)`` for labels of ``sizes`` ``(k, 2)`` (width, height) at ``places``.

    ``line`` ``(n, 2)`` are closely spaced points better not covered. All in millimetres. Labels
    stay inside ``box``. Two sweeps: the second moves each label once more with all others known.
    """
    centres = np.full((len(places), 2), np.nan)
    walls = _rectangles(blocked)
    for _ in range(2):
        for i in range(len(places)):
            others = np.arange(len(places)) != i
            others &= ~np.isnan(centres[:, 0])
            taken = np.column_stack((centres[others], sizes[others]))
            taken = np.vstack((taken, walls))
            options = _options(places[i], sizes[i])
            cost = _cost(options, places[i], sizes[i], taken=taken, line=line, box=box)
            centres[i] = options[int(cost.argmin())]
    return floats(centres, columns=2)


def _rectangles(boxes: tuple[Box, ...]) -> Floats:
    rows = [(b.left + b.width / 2, b.top + b.height / 2, b.width, b.height) for b in boxes]
    return np.array(rows, dtype=np.float64).reshape(-1, 4)


def _options(place: Floats, size: Floats) -> Floats:
    turn = np.arange(ANGLES) * (2 * np.pi / ANGLES)
    toward = np.column_stack((np.cos(turn), np.sin(turn)))
    rings = [place + toward * (size / 2 + free) for free in RINGS_MM]
    return np.vstack(rings)


def _cost(
    options: Floats, place: Floats, size: Floats, *, taken: Floats, line: Floats, box: Box
) -> Floats:
    cost: Floats = np.hypot(*(options - place).T)
    if len(line):
        cost += TOUCH_COST * _touching(options, size, line)
        cost += LEADER_COST * _leader_crossings(options, place, line)
    if len(taken):
        gap = np.abs(taken[None, :, :2] - options[:, None])
        clash = (gap < (taken[None, :, 2:] + size) / 2 + GAP_MM).all(axis=2)
        cost += CLASH_COST * clash.sum(axis=1)
    outside = np.abs(options - (box.left + box.width / 2, box.top + box.height / 2))
    half = np.array((box.width, box.height)) / 2
    cost += CLASH_COST * 10 * (outside + size / 2 > half).any(axis=1)
    return cost


def _touching(options: Floats, size: Floats, line: Floats) -> NDArray[np.bool_]:
    """Tell which label boxes, a little enlarged, hold a point of the line."""
    half = size / 2 + TOUCH_MM
    away, _ = cKDTree(line / half).query(options / half, p=np.inf, distance_upper_bound=1.0)
    return np.asarray(away < 1.0)


def _leader_crossings(options: Floats, place: Floats, line: Floats) -> Floats:
    """Count the places on each leader, away from its start, that lie close to the line."""
    spots = place + (options - place) * LEADER_SHARES[:, None, None]
    away, _ = cKDTree(line).query(spots.reshape(-1, 2), distance_upper_bound=NEAR_MM)
    near = np.asarray(away < NEAR_MM).reshape(len(LEADER_SHARES), -1)
    far = np.hypot(*np.moveaxis(spots - place, 2, 0)) > 2.2
    return floats((near & far).sum(axis=0))


def spread(wanted: Floats, gap: float, *, low: float, high: float) -> Floats:
    """Move ordered places ``(k,)`` apart by ``gap`` with the least squared movement.

    Least squares under order is isotonic regression on ``wanted - i gap``, solved by pooling
    neighbours (Barlow, Bartholomew, Bremner and Brunk 1972, from memory). Raises ValueError when
    the labels do not fit between ``low`` and ``high``.
    """
    steps = np.arange(len(wanted)) * gap
    if len(wanted) and steps[-1] > high - low + 1e-9:
        message = f"{len(wanted)} labels {gap:g} apart do not fit in {high - low:g}"
        raise ValueError(message)
    pooled = _pooled(np.asarray(wanted, dtype=np.float64) - steps)
    most = high - (steps[-1] if len(steps) else 0.0)
    return np.clip(pooled, low, most) + steps


def _pooled(values: Floats) -> Floats:
    """Nearest non-decreasing sequence by pooling adjacent violators."""
    blocks: list[tuple[float, int]] = []
    for value in values.tolist():
        mean, count = value, 1
        while blocks and blocks[-1][0] > mean:
            before, size = blocks.pop()
            mean = (before * size + mean * count) / (size + count)
            count += size
        blocks.append((mean, count))
    return np.repeat([mean for mean, _ in blocks], [count for _, count in blocks])
