"""A JSON table written and read piece by piece, so that other threads go on in between.

Gets a table or its text; gives what the standard library gives for it, character for character and
value for value. Promises: no single call holds the interpreter for longer than one item of a list
takes; the standard coder holds it for the whole, which stops a window for a large area.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

_READ = json.JSONDecoder().raw_decode


def table_text(words: Mapping[str, Any]) -> str:
    """Give a table as text without spaces; ValueError for what JSON cannot hold, as NaN."""
    return (
        "{" + ",".join(f"{_write(key)}:{_value_text(value)}" for key, value in words.items()) + "}"
    )


def _value_text(value: Any) -> str:
    if isinstance(value, list):
        return "[" + ",".join(map(_write, value)) + "]"
    return _write(value)


def _write(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"), allow_nan=False)


def table_of(text: str) -> Any:
    """Give the value of a text, as the standard library would; ValueError where it has none.

    What is not a table as ``table_text`` writes one is left to the standard library as a whole.
    """
    try:
        return _table(text)
    except (ValueError, IndexError):
        return json.loads(text)


def _table(text: str) -> dict[str, Any]:
    words: dict[str, Any] = {}
    at = 0
    while text[at] == ("," if words else "{"):
        key, at = _READ(text, at + 1)
        if not isinstance(key, str) or text[at] != ":":
            raise ValueError
        words[key], at = _items(text, at + 1) if text[at + 1] == "[" else _READ(text, at + 1)
    if not words or text[at:] != "}":
        raise ValueError
    return words


def _items(text: str, at: int) -> tuple[list[Any], int]:
    """Give the list that begins at a place of a text, and the place after it."""
    items: list[Any] = []
    if text.startswith("[]", at):
        return items, at + 2
    while text[at] == ("," if items else "["):
        item, at = _READ(text, at + 1)
        items.append(item)
    if text[at] != "]":
        raise ValueError
    return items, at + 1
