"""Invented ground: a smooth height function made of hills and hollows.

Gets a seeded generator; gives heights in metres for any place in the local frame. Promises: smooth
everywhere, the same for the same seed.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loopwright.model.arrays import Floats, floats


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Land:
    """Hills as Gaussians: ``centres`` ``(k, 2)`` m, ``sizes_m`` and ``rises_m`` ``(k,)``.

    ``tilt`` ``(2,)`` is the rise per metre east and north of the whole.
    """

    base_m: float
    tilt: Floats
    centres: Floats
    sizes_m: Floats
    rises_m: Floats

    def __post_init__(self) -> None:
        """Check shapes and lock the arrays."""
        object.__setattr__(self, "tilt", floats(self.tilt, rows=2))
        object.__setattr__(self, "centres", floats(self.centres, columns=2))
        for key in ("sizes_m", "rises_m"):
            object.__setattr__(self, key, floats(getattr(self, key), rows=len(self.centres)))

    def height(self, xy: Floats) -> Floats:
        """Heights ``(n,)`` metres at ``(n, 2)`` local metres; empty in, empty out."""
        out = self.base_m + xy @ self.tilt
        for centre, size, rise in zip(self.centres, self.sizes_m, self.rises_m, strict=True):
            out = out + rise * np.exp(-((xy - centre) ** 2).sum(axis=1) / (2 * size**2))
        return np.asarray(out, dtype=np.float64)


def hilly(rng: np.random.Generator, *, span_m: float, steep: float = 0.13) -> Land:
    """Land of hills over a square ``span_m`` wide; slopes reach about ``steep``.

    A Gaussian hill of rise h and size s is at most 0.61 h / s steep.
    """
    count = max(6, round((span_m / 450.0) ** 2))
    sizes = rng.uniform(160.0, 420.0, count)
    rises = sizes * rng.uniform(-0.6, 1.4, count) * steep
    centres = rng.uniform(-span_m / 2, span_m / 2, (count, 2))
    tilt = rng.uniform(-0.02, 0.02, 2)
    return Land(base_m=140.0, tilt=tilt, centres=centres, sizes_m=sizes, rises_m=rises)


def flat(rng: np.random.Generator) -> Land:
    """Land that only leans a little, as in a town on a plain."""
    none = np.zeros(0)
    return Land(
        base_m=12.0,
        tilt=rng.uniform(-0.002, 0.002, 2),
        centres=np.zeros((0, 2)),
        sizes_m=none,
        rises_m=none,
    )
