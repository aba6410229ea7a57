"""Points of the usual layout, taken out of a GPX file before the XML parser sees it.

Gets the bytes of a file in chunks; gives the same bytes with every run of plain points replaced by
one marker element, and the points of each run as numbers. Promises: only text that is certain to
be one whole ``trkpt`` is taken (letters, digits, marks and no entity), so the rest parses as the
whole would have; whatever is not plain raises NotPlainError and is read the thorough way.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from typing import TypeAlias

from loopwright.errors import WorldError
from loopwright.io.gpx_columns import Block, degrees, heights
from loopwright.io.gpx_extensions import Extensions, NotPlainError
from loopwright.io.gpx_times import read_times

MARKER = "loopwright-run"
_OPEN = f"<{MARKER}".encode()
_NUMBER = rb"([-+0-9.eE]{1,40}+)"
_TEXT = rb"[ -%'-;=?-~\s]*+"
_INNER = (
    rb"\s*+>\s*+(?:<ele>" + _NUMBER + rb"</ele>\s*+)?"
    rb"(?:<time>([-+0-9T:.Z]{1,40}+)</time>\s*+)?"
    rb"(?:<(?!ele>|time>|extensions>)([a-z]{1,20}+)>" + _TEXT + rb"</\5>\s*+){0,20}"
    rb"(?:<extensions>((?:"
    + _TEXT
    + rb"<(?!/?extensions>|/?trkpt)[ -%'-;=?-~]{1,300}+>)*"
    + _TEXT
    + rb")</extensions>\s*+)?</trkpt>\s*+"
)
"""Possessive wherever it may be: going back costs twenty steps at most. Not around a group that is
kept: Python before 3.11.5 then matches nothing (gh-101955)."""
_LAT_FIRST = re.compile(rb'<trkpt\s++lat="' + _NUMBER + rb'"\s++lon="' + _NUMBER + rb'"' + _INNER)
_LON_FIRST = re.compile(rb'<trkpt\s++lon="' + _NUMBER + rb'"\s++lat="' + _NUMBER + rb'"' + _INNER)
_LON_AHEAD = re.compile(rb"<trkpt\s+lon=")
_CLOSE = b"</trkpt>"
_GROUPS = 6
_CARRY_LIMIT = 4_000_000
_ENCODING = re.compile(rb"""^\s*<\?xml[^>]*encoding=["']([A-Za-z0-9._-]+)["']""")
_ASCII_LIKE = (b"utf-8", b"us-ascii", b"ascii", b"iso-8859-", b"windows-125", b"latin")

_Column: TypeAlias = Sequence[bytes | None]


class QuickPoints:
    """Takes plain points out of one file; ``runs`` grows as chunks pass."""

    def __init__(self) -> None:
        """Start with no runs."""
        self.runs: list[Block] = []
        self._extensions = Extensions()

    def without_points(self, chunks: Iterable[bytes]) -> Iterator[bytes]:
        """Give the file with each run of plain points replaced by a marker ``i="number"``."""
        carry, first = b"", True
        for chunk in chunks:
            data = carry + chunk
            if first:
                _check_encoding(data)
                first = False
            cut = data.rfind(_CLOSE) + len(_CLOSE)
            if cut < len(_CLOSE):
                cut = 0
            carry = data[cut:]
            if len(carry) > _CARRY_LIMIT:
                raise NotPlainError
            yield self._skeleton(data[:cut])
        yield self._skeleton(carry)

    def _skeleton(self, data: bytes) -> bytes:
        if b"<![CDATA" in data or _OPEN in data:
            raise NotPlainError
        swapped = _LON_AHEAD.search(data) is not None
        parts = (_LON_FIRST if swapped else _LAT_FIRST).split(data)
        rest = parts[:: _GROUPS + 1]
        if len(rest) == 1:
            return data
        first, second, *others = (parts[place :: _GROUPS + 1] for place in range(1, _GROUPS + 1))
        lat, lon = (second, first) if swapped else (first, second)
        return self._marked(rest, self._block(lat, lon, *others))

    def _marked(self, rest: Sequence[bytes], block: Block) -> bytes:
        """Join what stands between points, a marker for each unbroken run of points."""
        out = [rest[0]]
        start = 0
        for end in range(1, len(rest)):
            if rest[end] or end == len(rest) - 1:
                out.append(b'%b i="%d"/>' % (_OPEN, len(self.runs)))
                out.append(rest[end])
                self.runs.append(block.part(start, end))
                start = end
        return b"".join(out)

    def _block(
        self, lat: _Column, lon: _Column, ele: _Column, time: _Column, *more: _Column
    ) -> Block:
        return Block(
            lat=degrees("lat", _words(lat), most=90.0, complain=_complain),
            lon=degrees("lon", _words(lon), most=180.0, complain=_complain),
            ele_m=heights(_words(ele), _complain),
            time_s=read_times(_words(time)),
            extras=self._extensions.read(more[-1]),
        )


def _check_encoding(data: bytes) -> None:
    """Go on only where bytes below 128 are ASCII, so that what is matched is what is meant."""
    found = _ENCODING.match(data.removeprefix(b"\xef\xbb\xbf"))
    if found is not None and not found[1].lower().startswith(_ASCII_LIKE):
        raise NotPlainError


def _words(column: _Column) -> list[str | None]:
    return [None if word is None else word.decode() for word in column]


def _complain(row: int, what: str) -> WorldError:
    return WorldError(f"point {row}", what, "read it the thorough way")
