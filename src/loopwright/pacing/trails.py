"""What each piece of trail takes this rider beyond what the model knows of it.

Gets sections of rides with the miss of the model's time. Gives for every part of every arc ridden
a ratio of time with its interval: a rutted climb shows in every ride over it. Promises: a part
ridden little is pulled towards 1, as far as the rides themselves say (ridge regression, the
shrinkage of highest likelihood); the same sections give the same ratios.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from scipy.sparse import csr_matrix

from loopwright.model.arrays import Floats, Ints
from loopwright.model.ground import Terrain
from loopwright.model.ids import Arc, Way
from loopwright.model.rider import FitValue
from loopwright.pacing.arc_lane import parts_in
from loopwright.pacing.belief import ratio

SHRINKS = (1e-6, 0.03, 0.1, 0.2, 0.35, 0.6, 1.0, 1.7, 3.0)
"""Variance from trail to trail over that from ride to ride: the values tried."""
MOST_PARTS = 1500
"""Where more were ridden, those ridden most are kept, so that the table stays small."""
LEAST_SPREAD = 0.01

TrailTable: TypeAlias = Mapping[str, tuple[FitValue, ...]]
Mask: TypeAlias = "np.ndarray[tuple[int], np.dtype[np.bool_]]"


def key_of(arc: Arc) -> str:
    """Name an arc in a fit: the stretch and the way."""
    return f"{arc[0]} {arc[1].value}"


def numbering(terrain: Terrain) -> dict[Arc, int]:
    """Give the number of every arc's first part, over the whole terrain."""
    table, at = {}, 0
    for key, profile in terrain.profiles.items():
        for way in Way:
            table[key, way] = at
            at += parts_in(float(profile.dist_m[-1]))
    return table


@dataclass(frozen=True, slots=True, kw_only=True)
class Shares:
    """Share ``(n, m)`` of each section that lies on each part, and the ``parts`` ``(m,)``."""

    rows: csr_matrix
    parts: Ints


@dataclass(frozen=True, slots=True, kw_only=True)
class Trails:
    """Logarithms of ratios of time of the parts in ``shares``, and their standard deviations.

    ``spread`` is that of a part nobody rode, ``noise`` that of one ride of a section.
    """

    shares: Shares
    effect: Floats
    sd: Floats
    spread: float
    noise: float
    shrink: float


def shares_of(part: Ints, begin: Ints, end: Ints) -> Shares:
    """Lay sections ``begin`` to ``end`` (places) over the ``part`` of every place."""
    sizes = end - begin
    row = np.repeat(np.arange(len(begin)), sizes)
    first = np.concatenate(([0], np.cumsum(sizes)[:-1]))
    place = np.arange(len(row)) - np.repeat(first - begin, sizes)
    count = np.bincount(part[place])
    ranked = np.argsort(-count, kind="stable")[:MOST_PARTS]
    parts = np.sort(ranked[count[ranked] > 0])
    column = np.clip(np.searchsorted(parts, part[place]), 0, len(parts) - 1)
    known = parts[column] == part[place]
    value = known / sizes[row]
    table = csr_matrix((value, (row, column)), shape=(len(begin), len(parts)))
    return Shares(rows=table, parts=parts.astype(np.int32))


def trails_of(shares: Shares, miss: Floats, trust: Floats) -> Trails:
    """Estimate the effects from ``miss``, the log of time ridden over time foretold ``(n,)``.

    ``trust`` ``(n,)`` are standard deviations of the misses, of which only the ratios count.
    """
    weight = _weights(trust)
    size, turn = np.linalg.eigh(_curve(shares.rows, weight))
    pull = turn.T @ (shares.rows.T @ (weight * miss))
    rest = [_left(size, pull, float(weight @ miss**2), shrink) for shrink in SHRINKS]
    unlikely = [
        len(miss) * np.log(max(left, 1e-12)) + np.log1p(shrink * np.maximum(size, 0.0)).sum()
        for left, shrink in zip(rest, SHRINKS, strict=True)
    ]
    best = int(np.argmin(unlikely))
    shrink, noise = SHRINKS[best], float(np.sqrt(max(rest[best], 0.0) / len(miss)))
    tight = 1.0 / (np.maximum(size, 0.0) + 1.0 / shrink)
    return Trails(
        shares=shares,
        effect=turn @ (tight * pull),
        sd=noise * np.sqrt(np.square(turn) @ tight),
        spread=max(noise * float(np.sqrt(shrink)), LEAST_SPREAD),
        noise=noise,
        shrink=shrink,
    )


def _weights(trust: Floats) -> Floats:
    return np.asarray(1.0 / np.square(trust / np.median(trust)))


def _curve(rows: csr_matrix, weight: Floats) -> Floats:
    return np.asarray((rows.T @ rows.multiply(weight[:, None])).toarray())


def _left(size: Floats, pull: Floats, total: float, shrink: float) -> float:
    """Weighted sum of squares the effects leave unexplained, in the metric of the likelihood."""
    return total - float((pull**2 * shrink / (1.0 + shrink * np.maximum(size, 0.0))).sum())


def foretold_without(trails: Trails, miss: Floats, trust: Floats, mask: Mask) -> Floats:
    """Effects on the sections in ``mask``, from all other sections."""
    rows, weight = trails.shares.rows, _weights(trust)
    rest = np.where(mask, 0.0, weight)
    curve = _curve(rows, rest) + np.eye(len(trails.effect)) / trails.shrink
    effect = np.linalg.solve(curve, rows.T @ (rest * miss))
    return np.asarray(rows[mask] @ effect)


def trail_table(trails: Trails, terrain: Terrain) -> TrailTable:
    """Give the ratios by arc, a value for every part; parts nobody rode are 1 with ``spread``."""
    place = {part: k for k, part in enumerate(trails.shares.parts.tolist())}
    ridden = np.diff(trails.shares.rows.tocsc().indptr)
    unknown = ratio(0.0, trails.spread, 0)
    table = {}
    for arc, first in numbering(terrain).items():
        count = parts_in(float(terrain.profiles[arc[0]].dist_m[-1]))
        at = [place.get(first + k) for k in range(count)]
        if any(k is not None for k in at):
            table[key_of(arc)] = tuple(
                unknown
                if k is None
                else ratio(float(trails.effect[k]), float(trails.sd[k]), int(ridden[k]))
                for k in at
            )
    return table
