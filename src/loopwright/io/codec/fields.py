"""Picking checked values out of parsed JSON.

Gets a JSON object; gives values of the type asked for. Promises: anything else raises ValueError
naming the field, so that a made-up or damaged document never gets past reading.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from datetime import date
from typing import Any, TypeAlias, TypeVar

import numpy as np

from loopwright.model.arrays import Floats

Json: TypeAlias = dict[str, Any]
T = TypeVar("T")


def table(value: object) -> Json:
    """Return ``value`` if it is a JSON object."""
    if not isinstance(value, dict):
        message = f"expected an object, got {type(value).__name__}"
        raise ValueError(message)  # noqa: TRY004 - all damage is one kind of error to the caller
    return value


def rows(value: object) -> list[Any]:
    """Return ``value`` if it is a JSON array."""
    if not isinstance(value, list):
        message = f"expected a list, got {type(value).__name__}"
        raise ValueError(message)  # noqa: TRY004 - as above
    return value


def _pick(source: Json, key: str, kinds: type | tuple[type, ...], words: str) -> Any:
    value = source.get(key)
    if not isinstance(value, kinds) or (isinstance(value, bool) and kinds is not bool):
        message = f"{key!r} should be {words}"
        raise ValueError(message)
    return value


def text(source: Json, key: str) -> str:
    """Return a text field; control characters and direction marks become spaces."""
    words = str(_pick(source, key, str, "text"))
    return "".join(letter if letter.isprintable() else " " for letter in words)


def flag(source: Json, key: str) -> bool:
    """Return a true-or-false field."""
    return bool(_pick(source, key, bool, "true or false"))


def whole(source: Json, key: str) -> int:
    """Return a whole number."""
    return int(_pick(source, key, int, "a whole number"))


def number(source: Json, key: str) -> float:
    """Return a finite number."""
    value = float(_pick(source, key, (int, float), "a number"))
    if not math.isfinite(value):
        message = f"{key!r} should be a finite number"
        raise ValueError(message)
    return value


def day(source: Json, key: str) -> date:
    """Return a date written as YYYY-MM-DD."""
    return date.fromisoformat(text(source, key))


def maybe(read: Callable[[Json, str], T], source: Json, key: str) -> T | None:
    """Return the field read by ``read``, or None where it is null or absent."""
    return None if source.get(key) is None else read(source, key)


def numbers(source: Json, key: str) -> dict[str, float]:
    """Return an object whose values are finite numbers."""
    inner = table(source.get(key))
    return {name: number(inner, name) for name in inner}


def wholes(source: Json, key: str) -> tuple[int, ...]:
    """Return a list of whole numbers."""
    return tuple(whole({key: value}, key) for value in rows(source.get(key)))


def texts(source: Json, key: str) -> tuple[str, ...]:
    """Return a list of texts."""
    return tuple(text({key: value}, key) for value in rows(source.get(key)))


def each(read: Callable[[Json], T], source: Json, key: str) -> tuple[T, ...]:
    """Return a list of objects, each read by ``read``; an error names the place in the list."""
    found = []
    for place, value in enumerate(rows(source.get(key))):
        try:
            found.append(read(table(value)))
        except (ValueError, TypeError, KeyError) as error:
            message = f"{key}[{place}]: {error}"
            raise ValueError(message) from error
    return tuple(found)


def line(source: Json, key: str, *, columns: int) -> Floats:
    """Return ``(n, columns)`` numbers; null stands for NaN in a third column only."""
    values = [_row(row, columns) for row in rows(source.get(key))]
    return np.array(values, dtype=np.float64).reshape(-1, columns)


def _row(value: object, columns: int) -> list[float]:
    cells = rows(value)
    if len(cells) != columns:
        message = f"a point should have {columns} numbers, got {len(cells)}"
        raise ValueError(message)
    head = [number({"position": cell}, "position") for cell in cells[:2]]
    return head + [math.nan if cell is None else number({"ele": cell}, "ele") for cell in cells[2:]]


def put_line(values: Floats) -> list[list[float | None]]:
    """Write ``(n, columns)`` numbers as lists, NaN as null."""
    return [[cell if math.isfinite(cell) else None for cell in row] for row in values.tolist()]


def put_day(value: date | None) -> str | None:
    """Write a date as YYYY-MM-DD, None as null."""
    return None if value is None else value.isoformat()


def put_numbers(values: Mapping[str, float]) -> Json:
    """Write a mapping of numbers."""
    return {key: float(value) for key, value in values.items()}


def put_each(write: Callable[[T], Json], values: Sequence[T]) -> list[Json]:
    """Write a list of things."""
    return [write(value) for value in values]
