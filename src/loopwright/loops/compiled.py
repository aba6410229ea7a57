"""The typed door to numba.

Gets a plain function; gives the same function compiled on first use, kept in numba's on-disk
cache, and run without the interpreter lock. Promises: the type checker still sees the function's
own signature. Only the kernel files of this room import this module, so that importing the room
does not import numba.

A cached kernel is looked up by the time stamp of its own file only: after changing a kernel that
others call, touch the callers too, or empty the cache.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, ParamSpec, TypeVar, cast

import numba

Gets = ParamSpec("Gets")
Gives = TypeVar("Gives")

UNCOUNTED: dict[str, Any] = {"_nrt": False}
"""numba's name for leaving its run-time system out: no reference counts, no new arrays."""


def compiled(function: Callable[Gets, Gives]) -> Callable[Gets, Gives]:
    """Compile ``function`` lazily, cached on disk, without the interpreter lock."""
    kernel = numba.njit(cache=True, nogil=True, error_model="numpy")(function)
    return cast("Callable[Gets, Gives]", kernel)


def lean(function: Callable[Gets, Gives]) -> Callable[Gets, Gives]:
    """As ``compiled``, but without counting references to arrays: for the innermost loops.

    Counting costs ten times the work itself where tuples of many arrays go round and round. In
    turn ``function`` must not make arrays, only write into those it is given.
    """
    kernel = numba.njit(cache=True, nogil=True, error_model="numpy", **UNCOUNTED)(function)
    return cast("Callable[Gets, Gives]", kernel)


def inlined(function: Callable[Gets, Gives]) -> Callable[Gets, Gives]:
    """As ``compiled``, but written out in each caller, so that it shares the caller's leanness."""
    kernel = numba.njit(inline="always", cache=True, nogil=True, error_model="numpy")(function)
    return cast("Callable[Gets, Gives]", kernel)
