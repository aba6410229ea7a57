"""JSON files, written the same way every time and read with care.

Gets plain values; gives UTF-8 text with two-space indent, short lists on one line. Promises: the
same value makes the same bytes; NaN never gets out (it becomes null); reading refuses what is no
JSON in one clear line.
"""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

from loopwright.errors import WorldError
from loopwright.io.files import read_text, write_out

READ_LIMIT = 20_000_000
_WIDE = 100
DEGREE_PLACES = 7
METRE_PLACES = 3


def write_json(path: Path | str, value: object) -> None:
    """Write ``value`` to a file in one step, or to standard output for ``-``."""
    write_out(path, json_bytes(value))


def json_bytes(value: object) -> bytes:
    """Return ``value`` as UTF-8 JSON text ending in a line break; key order is kept."""
    return (_lines(_clean(value), "") + "\n").encode("utf-8", "backslashreplace")


def _lines(value: object, indent: str) -> str:
    flat = _flat(value)
    if len(flat) + len(indent) <= _WIDE or not isinstance(value, dict | list) or not value:
        return flat
    inner = indent + "  "
    if isinstance(value, dict):
        rows = [f"{_flat(str(key))}: {_lines(item, inner)}" for key, item in value.items()]
        return "{\n" + ",\n".join(inner + row for row in rows) + f"\n{indent}}}"
    if _is_numbers(value):
        return flat
    return "[\n" + ",\n".join(inner + _lines(item, inner) for item in value) + f"\n{indent}]"


def _is_numbers(value: object) -> bool:
    """Tell a list of numbers or of points, which is kept on one line however long."""
    return isinstance(value, list) and all(
        isinstance(item, int | float) or item is None or _is_numbers(item) for item in value
    )


def _flat(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


def _clean(value: object) -> Any:
    if type(value).__module__ == "numpy":  # numpy's numbers, told without loading numpy
        value = value.item()  # type: ignore[attr-defined]  # numpy's numbers have it
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, dict):
        return {str(key): _clean(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_clean(item) for item in value]
    return value


def degrees(value: float) -> float:
    """Round degrees to 7 decimals, about 1 cm on the ground."""
    return round(float(value), DEGREE_PLACES) + 0.0


def metres(value: float | None) -> float | None:
    """Round a figure to 3 decimals; None for what is no finite number."""
    if value is None or not math.isfinite(value):
        return None
    return round(float(value), METRE_PLACES) + 0.0


def read_json(path: Path, *, limit: int = READ_LIMIT) -> Any:
    """Return the parsed content; raises WorldError with the line of the mistake."""
    words = read_text(path, limit=limit)
    try:
        return json.loads(words, parse_constant=_no_constant)
    except json.JSONDecodeError as error:
        raise WorldError(
            str(path), f"is not JSON at line {error.lineno} ({error.msg})", "correct it there"
        ) from error
    except (RecursionError, ValueError) as error:
        raise WorldError(
            str(path), f"is JSON that cannot be used ({str(error)[:60]})", "correct it"
        ) from error


def _no_constant(word: str) -> float:
    message = f"{word} is not a JSON number"
    raise ValueError(message)
