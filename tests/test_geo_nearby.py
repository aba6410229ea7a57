"""What lies near points, asked in parts, against plain distances to every piece of line."""

from __future__ import annotations

import numpy as np

from loopwright.geo.nearby import PART, LineIndex

WITHIN_M = 4.0


def test_every_point_near_a_line_is_found_whatever_part_it_is_in() -> None:
    rng = np.random.default_rng(5)
    line = np.cumsum(rng.normal(0.0, 8.0, (60, 2)), axis=0)
    points = rng.uniform(line.min(), line.max(), (2 * PART + 7, 2))
    start, step = line[:-1], np.diff(line, axis=0)
    along = ((points[:, None] - start) * step).sum(axis=2) / (step**2).sum(axis=1)
    foot = start + np.clip(along, 0.0, 1.0)[:, :, None] * step
    off = np.linalg.norm(points[:, None] - foot, axis=2).min(axis=1)
    found = LineIndex([line]).near(points, within_m=WITHIN_M)
    assert set(found.point.tolist()) == set(np.flatnonzero(off <= WITHIN_M).tolist())
    nearest = np.full(len(points), np.inf)
    np.minimum.at(nearest, found.point, found.off_m)
    near = np.isfinite(nearest)
    np.testing.assert_allclose(nearest[near], off[near], atol=1e-9)
    assert (np.diff(found.point) >= 0).all()
