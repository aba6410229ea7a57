"""What a person said of the ground, from a GeoJSON file.

Gets a path and words that hold for all its lines; gives tags. Promises: words said for all win over
those of a line; a word that is no OpenStreetMap value is told with its file.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any

from loopwright.errors import NoAnswerError
from loopwright.io.geojson import read_ground
from loopwright.model.ground import Tag

WORDS = ("surface", "roughness", "width", "banked", "roots", "obstacles")


def read_tags(
    path: Path, *, said: Mapping[str, Any] | None = None, on: date | None = None
) -> list[Tag]:
    """Make a tag of each line that has a word, its own or ``said`` of all; may be empty."""
    tags = []
    for line, properties in read_ground(path):
        own = {name: properties[name] for name in WORDS if properties.get(name) is not None}
        words = {**own, **(said or {})}
        if words:
            try:
                tags.append(Tag(line=line, on=on, **words))
            except ValueError as error:
                raise NoAnswerError(str(path), str(error), "correct that word") from None
    return tags
