"""Trails from a local OpenStreetMap extract.

Gets a path to ``.osm`` (XML) or ``.osm.pbf``; gives lines open to bicycles with their ground.
Promises: nothing is fetched; the attribution the licence asks for comes with the lines; tags that
say nothing about the ground stay unknown. Which ways are open follows the access defaults and
``bicycle``/``access`` tags of the OpenStreetMap wiki (from memory).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TypeAlias

import numpy as np

from loopwright.errors import NoAnswerError
from loopwright.io.files import check_regular, worldly
from loopwright.io.osm_ground import ground_of, is_open, is_trail, obstacles_of, ways_of
from loopwright.io.osm_source import RawWay, pbf_ways, xml_ways
from loopwright.io.plain import plain
from loopwright.model.arrays import Floats, floats
from loopwright.model.ids import Ways

ATTRIBUTION = "© OpenStreetMap contributors (ODbL)"
FILE_LIMIT = 1_000_000_000
Box: TypeAlias = tuple[float, float, float, float]
"""South, west, north, east in degrees; west is the greater across the antimeridian."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MapLine:
    """One way: ``line`` ``(n, 2)`` lon, lat; words as in Tag, None where the map is silent.

    A way of one direction is ridden as its line runs.
    """

    line: Floats
    surface: str | None
    roughness: str | None
    width: str | None
    name: str
    one_way: bool
    obstacles: bool | None = None
    trail: bool = True
    """A path or track, not a street or road."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MapExtract:
    """Lines of an extract and what must be printed wherever they show."""

    lines: tuple[MapLine, ...]
    attribution: str = ATTRIBUTION


def read_osm(
    path: Path, *, within: Box | None = None, check: Callable[[], None] = lambda: None
) -> MapExtract:
    """Return the ways open to bicycles that touch ``within``; raises WorldError.

    ``check`` is called between ways; it may raise to stop the reading.
    """
    check_regular(path, limit=FILE_LIMIT)
    with worldly(path), path.open("rb") as source:
        head = source.read(64)
    ways = (
        xml_ways(path) if head.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"<") else pbf_ways(path)
    )
    lines = tuple(_lines(ways, within, check))
    if not lines:
        raise NoAnswerError(
            str(path), "holds no way open to bicycles here", "choose an extract of your area"
        )
    return MapExtract(lines=lines)


def _lines(
    ways: Iterator[RawWay], within: Box | None, check: Callable[[], None]
) -> Iterator[MapLine]:
    for tags, cells in ways:
        check()
        allowed = ways_of(tags)
        if len(cells) < 2 or allowed is Ways.CLOSED or not is_open(tags):
            continue
        ahead = cells[::-1] if allowed is Ways.BACKWARD else cells
        line = floats(np.array(ahead, dtype=np.float64), columns=2)
        if within is None or _touches(line, within):
            surface, roughness, width = ground_of(tags)
            yield MapLine(
                line=line, surface=surface, roughness=roughness, width=width,
                name=plain(tags.get("name", "")), one_way=allowed is not Ways.BOTH,
                obstacles=obstacles_of(tags),
                trail=is_trail(tags),
            )  # fmt: skip


def _touches(line: Floats, within: Box) -> bool:
    south, west, north, east = within
    lon, lat = line[:, 0], line[:, 1]
    beside = (lon - west) % 360.0 <= (east - west) % 360.0 if west > east else (
        (lon >= west) & (lon <= east)
    )  # fmt: skip
    return bool(((lat >= south) & (lat <= north) & beside).any())
