"""The typed door to numba for the search.

Gets a plain function; gives the same function compiled on first use, kept on disk, and run without
the interpreter lock. Only the kernel files of this room import this module, so that importing the
room does not import numba.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, ParamSpec, TypeVar

import numba

from loopwright.geo.compiled import kept

Gets = ParamSpec("Gets")
Gives = TypeVar("Gives")

UNCOUNTED: dict[str, Any] = {"_nrt": False}
"""numba's name for leaving its run-time system out: no reference counts, no new arrays."""


def compiled(function: Callable[Gets, Gives]) -> Callable[Gets, Gives]:
    """Compile ``function`` lazily, cached on disk, without the interpreter lock."""
    return kept(function, numba.njit(nogil=True, error_model="numpy")(function))


def lean(function: Callable[Gets, Gives]) -> Callable[Gets, Gives]:
    """As ``compiled``, but without counting references to arrays: for the innermost loops.

    Counting costs ten times the work itself where tuples of many arrays go round and round. In
    turn ``function`` must not make arrays, only write into those it is given.
    """
    return kept(function, numba.njit(nogil=True, error_model="numpy", **UNCOUNTED)(function))


def inlined(function: Callable[Gets, Gives]) -> Callable[Gets, Gives]:
    """As ``compiled``, but written out in each caller, so that it shares the caller's leanness."""
    return kept(function, numba.njit(inline="always", nogil=True, error_model="numpy")(function))
