"""The typed door to numba.

Gets a plain function; gives the same function compiled on first use and kept in numba's cache on
disk. Promises: the type checker still sees the function's own signature; a disk that is full or
cannot be written, and a cache that is damaged, cost compiling again and nothing else.

A cached kernel is looked up by the time stamp of its own file only: after changing a kernel that
others call, touch the callers too, or empty the cache.
"""

from __future__ import annotations

import pickle
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from typing import Any, ParamSpec, TypeVar, cast

import numba
from numba.core.caching import FunctionCache

Gets = ParamSpec("Gets")
Gives = TypeVar("Gives")
_NO_CACHE = (
    OSError, EOFError, pickle.PickleError, ValueError, LookupError, AttributeError, ImportError,
)  # fmt: skip
"""The last two: a kernel kept by a version whose types have gone."""


def compiled(function: Callable[Gets, Gives]) -> Callable[Gets, Gives]:
    """Compile ``function`` lazily, kept on disk where that can be."""
    return kept(function, numba.njit(function))


def kept(function: Callable[Gets, Gives], kernel: Any) -> Callable[Gets, Gives]:
    """Keep what ``kernel`` compiles on disk; where there is no place for it, go on without."""
    if hasattr(kernel, "enable_caching"):  # with compiling switched off it is the function itself
        with suppress(RuntimeError, *_NO_CACHE):
            kernel._cache = _Forgiving(function)  # type: ignore[no-untyped-call]  # noqa: SLF001 - numba has no other door
    return cast("Callable[Gets, Gives]", kernel)


class _Forgiving(FunctionCache):
    """A cache that may fail: numba itself lets a full disk end the program."""

    @contextmanager
    def _guard_against_spurious_io_errors(self) -> Iterator[None]:
        with suppress(*_NO_CACHE):
            yield
