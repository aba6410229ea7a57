"""Arrays of row numbers and of yes and no, and tables cut into parts that fit the memory."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

Rows: TypeAlias = NDArray[np.signedinteger[Any]]
"""Row numbers of any integer width."""
Bools: TypeAlias = NDArray[np.bool_]


def parts(first: Rows, most: int) -> Iterator[tuple[int, int]]:
    """Cut a table into runs of whole groups of about ``most`` rows, never fewer than one group.

    ``first`` ``(groups + 1,)`` is the row at which each group starts, and one past the last row.
    Gives each run as its first group and one past its last.
    """
    want = np.arange(int(first[0]), int(first[-1]), most)
    cuts = np.unique(np.append(np.searchsorted(first, want), len(first) - 1))
    yield from pairwise(cuts.tolist())


def firsts(owner: Rows) -> Rows:
    """Rows at which another owner begins, for numbers ``(n,)`` from 0 that stand together."""
    return np.flatnonzero(np.diff(owner, prepend=-1))
