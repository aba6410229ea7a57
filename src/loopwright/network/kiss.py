"""Tie lines that touch and part again without crossing.

Gets chains of vertices; gives them with a common vertex wherever two corners touch. At a crossroads
where every ride turns, no two kept lines cross: each is a corner, and the corners touch. Promises:
lines that run beside each other (two trails side by side, hairpin legs) are left apart, and so are
lines with a bridge's height between them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from scipy.spatial import cKDTree

from loopwright.model.arrays import Floats
from loopwright.network.rows import Rows

Seat: TypeAlias = tuple[int, int]
"""A chain and a spot in it."""
KISS_M = 4.0
"""Corners this near touch: one and a half errors of an aligned line."""
AWAY_ROWS, AWAY_M = 5, 9.0
"""Twenty-five metres on, both ways, the lines must lie this far apart, or they run side by side."""
OWN_ROWS = 15
"""A line may touch itself only this far along: a hairpin's own bend is no meeting."""
SETTLED_ROWS = 6
"""Lines that share a vertex this near have met already."""


def kissed(
    place: Floats, chains: Sequence[list[int]], *, level_m: float
) -> tuple[Floats, list[list[int]]]:
    """Put one new vertex into both chains wherever they touch on one level."""
    rows = np.array([v for chain in chains for v in chain], dtype=np.int64)
    if len(rows) == 0:
        return place, list(chains)
    owner = np.repeat(np.arange(len(chains)), [len(chain) for chain in chains])
    spot = np.concatenate([np.arange(len(chain)) for chain in chains])
    spots: list[Floats] = []
    inserts: dict[int, list[tuple[int, float, int]]] = {k: [] for k in range(len(chains))}
    for a, b, middle in _touches(place, chains, _Rows(rows, owner, spot), level_m):
        number = len(place) + len(spots)
        spots.append(middle)
        inserts[a[0]].append((a[1], 0.0, number))
        inserts[b[0]].append((b[1], 0.0, number))
    longer = [grown(list(chain), inserts[k]) for k, chain in enumerate(chains)]
    return (np.vstack((place, *[s[None] for s in spots])) if spots else place), longer


@dataclass(frozen=True, slots=True)
class _Rows:
    """Vertices of all chains: number, chain, spot in the chain, each ``(n,)``."""

    vertex: Rows
    owner: Rows
    spot: Rows

    def seat(self, row: int) -> Seat:
        """Give the chain and the spot of a row."""
        return int(self.owner[row]), int(self.spot[row])


def _touches(
    place: Floats, chains: Sequence[list[int]], rows: _Rows, level_m: float
) -> Iterator[tuple[Seat, Seat, Floats]]:
    """Yield where chains touch, nearest first, each meeting once, with its middle."""
    pairs = cKDTree(place[rows.vertex, :2]).query_pairs(KISS_M, output_type="ndarray")
    taken: list[tuple[Seat, Seat]] = []
    for a, b in _nearest_first(place, rows.vertex, pairs):
        one, two = rows.seat(a), rows.seat(b)
        if not _near_taken(taken, one, two) and _meet(place, chains, one, two, level_m):
            taken.append((one, two))
            yield one, two, (place[rows.vertex[a]] + place[rows.vertex[b]]) / 2


def grown(chain: list[int], extra: Sequence[tuple[int, float, int]]) -> list[int]:
    """Put vertices into a chain: each after a spot, at a share of the way to the next, a number."""
    for at, _, number in sorted(extra, reverse=True):
        chain = [*chain[: at + 1], number, *chain[at + 1 :]]
    return chain


def _nearest_first(place: Floats, rows: Rows, pairs: Rows) -> Rows:
    gap = np.hypot(*(place[rows[pairs[:, 0]], :2] - place[rows[pairs[:, 1]], :2]).T)
    return pairs[np.lexsort((pairs[:, 1], pairs[:, 0], gap))]


def _near_taken(taken: Sequence[tuple[Seat, Seat]], one: Seat, two: Seat) -> bool:
    ways = [pair for x, y in taken for pair in ((x, y), (y, x))]
    return any(_close(p, one) and _close(q, two) for p, q in ways)


def _close(one: Seat, two: Seat) -> bool:
    return one[0] == two[0] and abs(one[1] - two[1]) < SETTLED_ROWS


def _meet(
    place: Floats,
    chains: Sequence[list[int]],
    one: Seat,
    two: Seat,
    level_m: float,
) -> bool:
    (a, i), (b, j) = one, two
    if a == b and abs(i - j) < OWN_ROWS:
        return False
    if abs(place[chains[a][i], 2] - place[chains[b][j], 2]) > level_m:
        return False
    near_a, near_b = _around(chains[a], i), _around(chains[b], j)
    if set(near_a) & set(near_b):
        return False
    return _parts(place, chains[a], i, near_b) and _parts(place, chains[b], j, near_a)


def _around(chain: list[int], at: int) -> list[int]:
    return chain[max(at - 2 * AWAY_ROWS, 0) : at + 2 * AWAY_ROWS + 1]


def _parts(place: Floats, chain: list[int], at: int, other: list[int]) -> bool:
    """Tell whether the chain leaves the other on both sides of the touch."""
    if at < AWAY_ROWS or at + AWAY_ROWS >= len(chain):
        return False
    ends = place[[chain[at - AWAY_ROWS], chain[at + AWAY_ROWS]], :2]
    gap = np.hypot(*(ends[:, None] - place[other, :2][None]).transpose(2, 0, 1))
    return bool((gap.min(axis=1) > AWAY_M).all())
