"""Older area files brought up to date in memory.

Gets the parsed document of an older schema; gives it as the newest schema has it. Promises: the
file itself is left alone until it is saved again.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

from loopwright.io.codec.fields import Json

SCHEMA = 1
"""The schema this program writes."""
Migration = Callable[[Json], Json]
MIGRATIONS: Mapping[int, Migration] = MappingProxyType({})
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
