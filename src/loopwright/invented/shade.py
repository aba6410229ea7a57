"""Ground that spoils reception: under cliffs, beside walls, beneath wet trees.

Gets places and a seed of the ground; gives how many times worse a receiver is there. Every ride of
the same ground meets the same shade, but each errs in its own way under it.
"""

from __future__ import annotations

import numpy as np

from loopwright.model.arrays import Floats

PATCH_M = 250.0
"""Usual size of a patch: a wood, a cliff, a row of houses."""
WAVES = 24


def shade_at(xy: Floats, seed: int) -> Floats:
    """Tell how deep in shade places ``(n, 2)`` are, 0 to 1; a fifth of the ground is shaded."""
    rng = np.random.default_rng([seed, 23])
    turn = rng.uniform(0.0, 2 * np.pi, WAVES)
    size = rng.uniform(0.6, 1.8, WAVES) * PATCH_M
    phase = rng.uniform(0.0, 2 * np.pi, WAVES)
    along = np.outer(xy[:, 0], np.cos(turn)) + np.outer(xy[:, 1], np.sin(turn))
    field = np.cos(2 * np.pi * along / (2 * size) + phase).sum(axis=1) / np.sqrt(WAVES / 2)
    # A sum of many waves is nearly normal: a fifth of it lies above 0.84.
    return np.asarray(np.clip((field - 0.84) / 0.6, 0.0, 1.0))
