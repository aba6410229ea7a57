"""GPX 1.0 and 1.1 files, read fast and in little memory.

Gets a path; gives one RecordedTrack per ``trk`` with points, or per ``rte`` if no track has any.
Promises: positions, heights and times are those gpxpy gives; the tree is thrown away piece by
piece while reading; no entity is expanded, no address is opened, no size limit is lifted.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TypeAlias, cast

from lxml import etree

from loopwright.errors import NoAnswerError, WorldError
from loopwright.io.files import check_regular
from loopwright.io.gpx_columns import Block
from loopwright.io.gpx_extensions import NotPlainError
from loopwright.io.gpx_points import POINTS, Gatherer, TooMuchError
from loopwright.io.gpx_quick import QuickPoints
from loopwright.io.plain import plain
from loopwright.io.xml_guard import chunks, local, pull_parser, syntax_error
from loopwright.model.track import RecordedTrack

FILE_LIMIT = 400_000_000
POINT_LIMIT = 2_000_000
LINE_LIMIT = 10_000
BARREN_LIMIT = 8_000_000
"""So many bytes without a point, and the file is taken for junk."""
CHILD_LIMIT = 10_000
"""So many elements in one point, and the file is taken for junk."""
_LINES = frozenset({"trk", "rte"})
_REDO = "export the ride again"
Element: TypeAlias = etree._Element  # noqa: SLF001 - the only name lxml has for it


def read_gpx(path: Path) -> tuple[RecordedTrack, ...]:
    """Return the tracks of a GPX file; raises WorldError saying what is wrong and where.

    Points of the usual layout are taken out first; if anything at all is odd, the whole file is
    read again by the XML parser alone, which also finds the right words and line for an error.
    """
    check_regular(path, limit=FILE_LIMIT)
    quick = QuickPoints()
    try:
        return _tracks(path, quick.without_points(chunks(path, remedy=_REDO)), quick.runs)
    except TooMuchError:
        raise
    except (NotPlainError, WorldError, etree.XMLSyntaxError):
        pass
    try:
        return _tracks(path, chunks(path, remedy=_REDO), ())
    except etree.XMLSyntaxError as error:
        raise syntax_error(path, error, remedy=_REDO) from error


def _tracks(
    path: Path, chunks: Iterable[bytes], runs: Sequence[Block]
) -> tuple[RecordedTrack, ...]:
    reading = _Reading(path, runs)
    for chunk in chunks:
        reading.feed(chunk)
    reading.close()
    return reading.tracks()


class _Reading:
    """The state of reading one file: which track and segment the parser is in."""

    def __init__(self, path: Path, runs: Sequence[Block]) -> None:
        self._path = path
        self._parser = pull_parser(("{*}gpx", "{*}trk", "{*}trkseg", "{*}rte"))
        self._root: Element | None = None
        self._barren = 0
        self._name = ""
        self._lines = 0
        self._line: Element | None = None
        self._segment: Element | None = None
        self._gatherer = Gatherer(path, limit=POINT_LIMIT, runs=runs)
        self._done: list[tuple[str, RecordedTrack]] = []

    def feed(self, chunk: bytes) -> None:
        before = self._gatherer.points
        self._parser.feed(chunk)
        self._follow()
        self._barren = self._barren + len(chunk) if self._gatherer.points == before else 0
        if self._barren > BARREN_LIMIT:
            what = f"holds {BARREN_LIMIT / 1e6:.0f} MB without a track point"
            raise TooMuchError(str(self._path), what, "choose a recorded ride")
        self._prune()

    def _prune(self) -> None:
        """Let go of all that is read and done with, down to the element still growing."""
        node = self._root
        while node is not None and len(node):
            if local(node) in POINTS:
                self._check_size(node)
                return
            if node is self._line:
                self._name = self._name or _name_of(node)
            if len(node) > 1:
                del node[:-1]
            node = node[-1]

    def _check_size(self, point: Element) -> None:
        if sum(1 for _ in point.iterdescendants()) > CHILD_LIMIT:
            raise WorldError(str(self._path), "holds a point of absurd size", _REDO)

    def close(self) -> None:
        self._parser.close()
        self._follow()
        if self._root is None:
            raise WorldError(str(self._path), "is XML but not a GPX file", "choose a GPX file")

    def _follow(self) -> None:
        for event, element in self._parser.read_events():
            self._step(str(event), cast("Element", element))
        if self._segment is not None:
            self._take(self._segment, keep=1)

    def _step(self, event: str, element: Element) -> None:
        name = local(element)
        if self._root is None:
            self._check_root(element, name)
        elif name in _LINES and self._is_top(element):
            self._at_line(event, element, name)
        elif name == "trkseg" and self._line is not None and element.getparent() is self._line:
            self._at_segment(event, element)

    def _check_root(self, element: Element, name: str) -> None:
        top = local(element.getroottree().getroot())
        if name != "gpx" or element.getparent() is not None:
            what = f"is XML but not GPX (it starts with {plain(top)})"
            raise WorldError(str(self._path), what, "choose a GPX file")
        self._root = element

    def _is_top(self, element: Element) -> bool:
        parent = element.getparent()
        return parent is not None and parent.getparent() is None

    def _at_line(self, event: str, element: Element, name: str) -> None:
        if event == "start":
            self._line, self._name = element, ""
            self._count_line()
            self._segment = element if name == "rte" else None
            self._gatherer.start()
            return
        if name == "rte":
            self._take(element, keep=0)
        track = self._gatherer.finish(self._name or _name_of(element))
        if track is not None:
            self._done.append((name, track))
        self._line = self._segment = None
        _drop(element)

    def _count_line(self) -> None:
        self._lines += 1
        if self._lines > LINE_LIMIT:
            raise TooMuchError(str(self._path), "holds too many tracks for one file", "split it")

    def _at_segment(self, event: str, element: Element) -> None:
        if event == "start":
            self._segment = element
            self._gatherer.next_piece()
            return
        self._take(element, keep=0)
        self._segment = None

    def _take(self, segment: Element, *, keep: int) -> None:
        """Read all points of a segment but the last ``keep``, which may still be growing."""
        count = len(segment) - keep
        if count <= 0:
            return
        self._gatherer.add(_first(segment, count))
        if local(segment) == "rte":
            self._name = self._name or _name_of(segment)
        del segment[:count]

    def tracks(self) -> tuple[RecordedTrack, ...]:
        for wanted in ("trk", "rte"):
            found = tuple(track for name, track in self._done if name == wanted)
            if found:
                return found
        raise NoAnswerError(str(self._path), "no usable track (it holds no track points)", _REDO)


def _first(parent: Element, count: int) -> list[Element]:
    return parent[:count]  # type: ignore[return-value, index]  # lxml-stubs knows no slices


def _name_of(element: Element) -> str:
    for child in element:
        if local(child) == "name":
            return plain(child.text or "")
    return ""


def _drop(element: Element) -> None:
    """Let go of a finished element and of what stands before it, but not of its parent."""
    element.clear(keep_tail=True)  # type: ignore[call-arg]  # lxml-stubs is behind lxml
    parent = element.getparent()
    while parent is not None and element.getprevious() is not None:
        del parent[0]
