"""As many pairs as can be made, one to one.

Gets which of the one side may go with which of the other; gives the number of pairs. Promises: the
largest number possible (Kuhn's augmenting paths, started from nearest pairs first). The ready-made
routines at hand take exponential time or recurse too deeply on long chains of near neighbours.
"""

from __future__ import annotations

from collections import deque

import numpy as np
from scipy.spatial import cKDTree

from loopwright.model.arrays import Floats


def most_pairs(one: Floats, two: Floats, within_m: float) -> int:
    """Count one-to-one pairs of places ``(n, 2)``, ``(m, 2)`` within a distance, at most."""
    if len(one) == 0 or len(two) == 0:
        return 0
    near = cKDTree(one).sparse_distance_matrix(cKDTree(two), within_m, output_type="coo_matrix")
    order = np.lexsort((near.col, near.row, near.data))
    rows, columns = near.row[order].tolist(), near.col[order].tolist()
    friends: list[list[int]] = [[] for _ in range(len(one))]
    mate_of_one: dict[int, int] = {}
    mate_of_two: dict[int, int] = {}
    for a, b in zip(rows, columns, strict=True):
        friends[a].append(b)
        if a not in mate_of_one and b not in mate_of_two:
            mate_of_one[a], mate_of_two[b] = b, a
    for a in range(len(one)):
        if a not in mate_of_one:
            _augment(a, friends, mate_of_one, mate_of_two)
    return len(mate_of_one)


def _augment(
    start: int, friends: list[list[int]], mate_of_one: dict[int, int], mate_of_two: dict[int, int]
) -> None:
    """Find a free place for ``start`` by moving others on, if there is a way."""
    came: dict[int, int] = {}
    queue = deque([start])
    while queue:
        a = queue.popleft()
        for b in friends[a]:
            if b in came:
                continue
            came[b] = a
            if b not in mate_of_two:
                _move_on(b, came, mate_of_one, mate_of_two)
                return
            queue.append(mate_of_two[b])


def _move_on(
    free: int, came: dict[int, int], mate_of_one: dict[int, int], mate_of_two: dict[int, int]
) -> None:
    b: int | None = free
    while b is not None:
        a = came[b]
        before = mate_of_one.get(a)
        mate_of_one[a], mate_of_two[b] = b, a
        b = before
