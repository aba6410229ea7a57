"""Older area files brought up to date in memory.

Gets the parsed document of an older schema; gives it as the newest schema has it. Promises: the
file itself is left alone until it is saved again.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

from loopwright.io.codec.fields import Json

SCHEMA = 2
"""The schema this program writes."""
Migration = Callable[[Json], Json]


def _obstacles(source: Json) -> Json:
    """Make schema 2: tags can say obstacles, corrections say where they come from.

    Tags stay as they are: what one does not say is read as unknown.
    """
    return source | {"corrections": _each_with(source, "corrections", "source", "")}


def _each_with(source: Json, key: str, field: str, value: str) -> object:
    """Give a list's rows a field they lack; what is no list of rows is left for the reader."""
    rows = source.get(key)
    if not isinstance(rows, list):
        return rows
    return [{field: value, **row} if isinstance(row, dict) else row for row in rows]


MIGRATIONS: Mapping[int, Migration] = MappingProxyType({1: _obstacles})
"""From a schema number to the step that makes the next one of it. Schema 1 is the first."""


def migrate(
    source: Json,
    schema: int,
    *,
    steps: Mapping[int, Migration] = MIGRATIONS,
    newest: int = SCHEMA,
) -> Json:
    """Return ``source`` brought from ``schema`` to ``newest``, step by step.

    Raises KeyError if a step is missing.
    """
    for number in range(schema, newest):
        source = steps[number](source)
    return source
