"""Read-only arrays.

Gets anything numpy can read; gives float64/int arrays that cannot be written to.
Promises: shape is checked at construction, so no later code has to ask again.
"""

from __future__ import annotations

from typing import Any, TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats: TypeAlias = NDArray[np.float64]
Ints: TypeAlias = NDArray[np.int32]


def floats(values: ArrayLike, *, columns: int | None = None, rows: int | None = None) -> Floats:
    """Return a read-only float64 copy-on-need of ``values``.

    Parameters
    ----------
    values
        ``(n,)`` when ``columns`` is None, else ``(n, columns)``.
    columns
        Number of columns asked for; None asks for a flat array.
    rows
        Number of rows asked for; None takes any.

    Raises
    ------
    ValueError
        If the shape does not fit.
    """
    return _locked(np.asarray(values, dtype=np.float64), columns=columns, rows=rows)


def ints(values: ArrayLike, *, rows: int | None = None) -> Ints:
    """Return a read-only flat int32 array; raises ValueError if the shape does not fit."""
    return _locked(np.asarray(values, dtype=np.int32), columns=None, rows=rows)


def alike(array: Ints) -> Ints:
    """Return an equal array that holds one number only, where all are the same."""
    if len(array) < 2 or (array != array[0]).any():
        return array
    return np.broadcast_to(array[:1].copy(), array.shape)


def _locked(array: NDArray[Any], *, columns: int | None, rows: int | None) -> NDArray[Any]:
    if columns is not None and array.size == 0:
        array = array.reshape(0, columns)
    want = 1 if columns is None else 2
    if array.ndim != want or (columns is not None and array.shape[1] != columns):
        message = f"expected {want} dimensions and {columns} columns, got shape {array.shape}"
        raise ValueError(message)
    if rows is not None and len(array) != rows:
        message = f"expected {rows} rows, got {len(array)}"
        raise ValueError(message)
    if array.flags.writeable:
        array = array.view() if array.base is None else array.copy()
        array.flags.writeable = False
    return array
