"""The table of ascent methods in docs/features.md is measured anew, ours as the program takes it.

Ten sine hills of 398.4 m (computed) with white noise, and flat ground with heights of +1, 0, 0 or
-1 m at random every 10 m, which summed raw read 3,750 m of ascent per 100 km (published figure).
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from scipy.signal import savgol_filter

from loopwright.features.smoothed import HEIGHT_ORDER, STEP_M, height_strength
from loopwright.geo.ascent import LEAST_RISE_M, ascent_m
from loopwright.geo.curvature import mean_over
from loopwright.geo.whittaker import smooth
from loopwright.model.arrays import Floats

TRUE_M, TRIES = 398.4, 40
TABLE = Path(__file__).parent.parent / "docs" / "features.md"


def risen(ele: Floats) -> float:
    return float(np.clip(np.diff(ele), 0, None).sum())


def means(window_m: float) -> Callable[[Floats, float], float]:
    return lambda ele, step_m: risen(
        mean_over(ele, np.arange(len(ele), dtype=np.float64) * step_m, window_m=window_m)
    )


def cubic(ele: Floats, step_m: float) -> float:
    return risen(savgol_filter(ele, round(105 / step_m) | 1, 3))


def ours(ele: Floats, step_m: float) -> float:
    """Stations, strength and rises as for every stretch."""
    run = np.arange(len(ele)) * step_m
    fine = np.interp(np.arange(0, run[-1] + 1e-6, STEP_M), run, ele)
    scale_m = height_strength([fine]).scale_m
    calm = smooth(fine, np.ones(len(fine)), step_m=STEP_M, scale_m=scale_m, order=HEIGHT_ORDER)
    return ascent_m(calm.tolist(), least_m=LEAST_RISE_M)


METHODS: dict[str, Callable[[Floats, float], float]] = {
    "plain sum": lambda ele, _step: risen(ele),
    "turning points of 5 m": lambda ele, _step: ascent_m(ele.tolist(), least_m=5),
    "turning points of 10 m": lambda ele, _step: ascent_m(ele.tolist(), least_m=10),
    "mean over 25 m": means(25),
    "mean over 75 m": means(75),
    "cubic window of 105 m": cubic,
    "**ours**": ours,
}


def told(method: str) -> list[tuple[float, float]]:
    """A row of the table: mean and worst case in percent at 1 m and 3 m, then the flat 100 km."""
    (line,) = [row for row in TABLE.read_text().splitlines() if row.startswith(f"| {method} |")]
    cells = line.replace("*", "").replace(",", "").split("|")[2:5]
    numbers = [cell.replace("(", " ").replace("%)", " ").split() for cell in cells]
    return [(float(cell[0]), float(cell[1]) if len(cell) > 1 else 0.0) for cell in numbers]


@pytest.mark.parametrize("method", METHODS)
def test_every_row_of_the_table_is_so(method: str) -> None:
    chance, way = np.random.default_rng(21), METHODS[method]
    wave = np.sin(2 * np.pi * np.arange(0, 5000.1, 5.0) / 500)
    hills = wave * TRUE_M / risen(wave)
    *noisy, (flat_m, _) = told(method)
    for noise_m, (mean_m, worst) in zip((1.0, 3.0), noisy, strict=True):
        tries = [way(hills + chance.normal(0, noise_m, len(hills)), 5.0) for _ in range(TRIES)]
        assert np.mean(tries) == pytest.approx(mean_m, rel=0.03)
        assert 100 * np.abs(np.array(tries) / TRUE_M - 1).max() == pytest.approx(
            worst, rel=0.35, abs=1.0
        )
        if way is ours:
            assert np.abs(np.array(tries) / TRUE_M - 1).max() < 0.03
    flat = way(chance.choice([-1.0, 0.0, 0.0, 1.0], 10_001), 10.0)
    assert flat == pytest.approx(flat_m, rel=0.1, abs=3.0)
