"""Marbles and holes: how well two networks cover each other, one sample for one sample.

Gets two networks or two sets of places; gives precision, recall and F. Promises: one to one, so a
doubled line costs precision and a fused pair costs recall. The measure is the one used to compare
map-making methods (Biagioni and Eriksson 2012, doi 10.3141/2291-08).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.optimize import linear_sum_assignment

from loopwright.geo.polyline import length_m, resample
from loopwright.invented.pairing import most_pairs
from loopwright.model.arrays import Floats
from loopwright.model.network import Network

STEP_M = 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """Counts of what was found: ``hits`` of ``found`` in the built, of ``true`` in the truth."""

    hits: int
    found: int
    true: int

    @property
    def precision(self) -> float:
        """Share of the built that is true; 1 when nothing was built."""
        return self.hits / self.found if self.found else 1.0

    @property
    def recall(self) -> float:
        """Share of the truth that was built; 1 when there is no truth."""
        return self.hits / self.true if self.true else 1.0

    @property
    def f(self) -> float:
        """Harmonic mean of precision and recall; 1 when both sides are empty."""
        total = self.found + self.true
        return 2 * self.hits / total if total else 1.0

    def __add__(self, other: Share) -> Share:
        """Add counts up."""
        return Share(
            hits=self.hits + other.hits,
            found=self.found + other.found,
            true=self.true + other.true,
        )


NOTHING = Share(hits=0, found=0, true=0)


def samples(network: Network, step_m: float = STEP_M) -> Floats:
    """Places ``(n, 2)`` every ``step_m`` along every stretch, in the middle of its step."""
    parts = [_middles(stretch.xy, step_m) for stretch in network.stretches]
    return np.vstack(parts) if parts else np.zeros((0, 2))


def _middles(xy: Floats, step_m: float) -> Floats:
    even = resample(xy, step_m)
    return np.asarray((even[1:] + even[:-1]) / 2, dtype=np.float64)


def matched(built: Floats, true: Floats, within_m: float) -> Share:
    """Match places ``(n, 2)`` and ``(m, 2)`` one to one, as many as can be within a distance."""
    hits = most_pairs(built, true, within_m)
    return Share(hits=hits, found=len(built), true=len(true))


def path_share(built: Network, true: Network, within_m: float) -> Share:
    """Marbles and holes over whole networks at ``within_m`` metres."""
    return matched(samples(built), samples(true), within_m)


def length_ratio(built: Network, true: Network) -> float:
    """Built length over true length; infinite when there is no truth."""
    have, want = (sum(length_m(s.xy) for s in n.stretches) for n in (built, true))
    return have / want if want else float("inf")


def forks(network: Network) -> Floats:
    """Junctions of degree 3 and more, ``(n, 2)`` metres."""
    places = [junction.xy for junction in network.junctions if junction.degree >= 3]
    return np.array(places).reshape(-1, 2)


def junction_share(built: Network, true: Network, within_m: float) -> tuple[Share, Floats]:
    """Junctions matched one to one, nearest first in sum; also their errors in metres."""
    have, want = forks(built), forks(true)
    dist = np.hypot(*(have[:, None] - want[None]).transpose(2, 0, 1))
    far = 1e6
    rows, columns = linear_sum_assignment(np.where(dist <= within_m, dist, far))
    errors = dist[rows, columns]
    errors = errors[errors <= within_m]
    return Share(hits=len(errors), found=len(have), true=len(want)), errors
