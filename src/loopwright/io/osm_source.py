"""Ways with their tags and positions out of OpenStreetMap files.

Gets a path; gives ``(tags, [(lon, lat), ...])`` one way after another. Promises: XML is read with
no entity expanded, nothing fetched and bounded memory beyond the nodes; PBF needs the optional
library osmium and says so when it is missing.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path
from typing import Any, TypeAlias, cast

from lxml import etree

from loopwright.errors import WorldError
from loopwright.io.files import check_regular, worldly
from loopwright.io.xml_guard import CHUNK, chunks, pull_parser, syntax_error

Element: TypeAlias = etree._Element  # noqa: SLF001 - the only name lxml has for it
RawWay: TypeAlias = tuple[dict[str, str], list[tuple[float, float]]]
NODE_LIMIT = 2_000_000
XML_LIMIT = 200_000_000
BARREN_LIMIT = 8_000_000
"""So many bytes without a node or way, and the file is taken for junk."""
CHILD_LIMIT = 100_000
_TAIL = 4096
_PICK = "choose an .osm or .osm.pbf extract"


def xml_ways(path: Path) -> Iterator[RawWay]:
    """Yield the ways of an ``.osm`` file; nodes a way names but the file lacks are left out."""
    _check_end(path, check_regular(path, limit=XML_LIMIT))
    reading = _Reading(path)
    try:
        for chunk in chunks(path, remedy=_PICK):
            yield from reading.feed(chunk)
        yield from reading.close()
    except etree.XMLSyntaxError as error:
        raise syntax_error(path, error, remedy=_PICK) from error


def _check_end(path: Path, size: int) -> None:
    """Refuse a large file that was cut off without reading all of it first."""
    with worldly(path), path.open("rb") as source:
        source.seek(max(0, size - _TAIL))
        tail = source.read().replace(b"\0", b"")  # UTF-16 keeps its ASCII between zeros
    if size > CHUNK and b"osm" not in tail:
        raise WorldError(str(path), "breaks off before its end", _PICK)


class _Reading:
    """The state of reading one extract: its nodes so far, and how long nothing came."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._parser = pull_parser(("osm",))
        self._root: Element | None = None
        self._nodes: dict[str, tuple[float, float]] = {}
        self._barren = 0

    def feed(self, chunk: bytes) -> Iterator[RawWay]:
        self._parser.feed(chunk)
        self._barren += len(chunk)
        for _, found in self._parser.read_events():
            self._root = self._root if self._root is not None else cast("Element", found)
        yield from self._take(keep=1)
        if self._barren > BARREN_LIMIT:
            what = f"holds {BARREN_LIMIT / 1e6:.0f} MB without a node or way"
            raise WorldError(str(self._path), what, _PICK)
        self._check_growth()

    def close(self) -> Iterator[RawWay]:
        self._parser.close()
        if self._root is None or self._root.getparent() is not None:
            raise WorldError(str(self._path), "is XML but no OpenStreetMap extract", _PICK)
        yield from self._take(keep=0)

    def _take(self, *, keep: int) -> Iterator[RawWay]:
        """Read all children of the root but the last ``keep``, which may still be growing."""
        if self._root is None or len(self._root) <= keep:
            return
        done = list(self._root)[: len(self._root) - keep]
        for element in done:
            if element.tag == "node":
                _keep_node(self._path, self._nodes, element)
                self._barren = 0
            elif element.tag == "way":
                self._barren = 0
                yield _way(self._nodes, element)
        del self._root[: len(done)]

    def _check_growth(self) -> None:
        node = self._root
        while node is not None and len(node):
            node = node[-1]
            if len(node) > CHILD_LIMIT:
                raise WorldError(str(self._path), "holds an element of absurd size", _PICK)


def _keep_node(path: Path, nodes: dict[str, tuple[float, float]], element: Element) -> None:
    try:
        lon, lat = float(element.get("lon", "nan")), float(element.get("lat", "nan"))
    except ValueError:
        lon = lat = math.nan
    if not (abs(lon) <= 180 and abs(lat) <= 90):
        what = f"has a node off the globe at line {element.sourceline}"
        raise WorldError(str(path), what, _PICK)
    nodes[str(element.get("id"))] = (lon, lat)
    if len(nodes) > NODE_LIMIT:
        raise WorldError(str(path), "holds too many nodes", "cut an extract of your area")


def _way(nodes: dict[str, tuple[float, float]], element: Element) -> RawWay:
    tags = {str(tag.get("k")): str(tag.get("v")) for tag in element.iterchildren("tag")}
    refs = (str(node.get("ref")) for node in element.iterchildren("nd"))
    return tags, [nodes[ref] for ref in refs if ref in nodes]


def pbf_ways(path: Path) -> Iterator[RawWay]:
    """Yield the ways of an ``.osm.pbf`` file that carry a ``highway`` tag."""
    try:
        import osmium
    except ImportError:
        raise WorldError(
            str(path), "is no OpenStreetMap XML; a .pbf needs the optional library osmium",
            "install loopwright[maps] or give an .osm file",
        ) from None  # fmt: skip
    yield from _pbf(path, osmium)


def _pbf(path: Path, library: Any) -> Iterator[RawWay]:
    try:
        walk = library.FileProcessor(str(path), library.osm.NODE | library.osm.WAY)
        for way in walk.with_locations():
            if way.is_way() and "highway" in way.tags:
                yield {tag.k: tag.v for tag in way.tags}, _valid(way)
    except (RuntimeError, ValueError) as error:
        raise WorldError(str(path), "is no readable OpenStreetMap extract", _PICK) from error


def _valid(way: Any) -> list[tuple[float, float]]:
    return [(node.lon, node.lat) for node in way.nodes if node.location.valid()]
