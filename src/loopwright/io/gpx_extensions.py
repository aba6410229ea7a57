"""Power, heart rate and cadence out of plain ``extensions``.

Gets the bytes between ``<extensions>`` tags, one for each point; gives a column a kind. Promises:
each layout of tags is parsed as XML once; points that share it are read by a pattern made of it.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from lxml import etree

from loopwright.io.gpx_columns import finite
from loopwright.io.gpx_names import extra_key
from loopwright.model.arrays import Floats

LAYOUT_LIMIT = 16
_NAME = rb"[A-Za-z_][\w.]*(?::[A-Za-z_][\w.]*)?"
_TAG = re.compile(
    rb"<(/?)(" + _NAME + rb")((?:\s+" + _NAME + rb"=\"[ !#-%'-;=?-~]*\")*)\s*(/?)>", re.ASCII
)
_PREFIX = re.compile(rb"[<\s/]([A-Za-z_][\w.]*):", re.ASCII)
_TEXT = rb"[ -%'-;=?-~\s]*"
_SLOT = re.compile(_TEXT)


class NotPlainError(Exception):
    """The file is not of the usual layout and must be read the thorough way."""


@dataclass(frozen=True, slots=True)
class _Layout:
    """A sequence of tags: the pattern that reads it, and the kind each group stands for."""

    pattern: re.Pattern[bytes]
    keys: tuple[str, ...]


class Extensions:
    """Reads the extensions of one file, remembering the layouts it has met."""

    def __init__(self) -> None:
        """Start with no layouts."""
        self._layouts: list[_Layout] = []

    def read(self, column: Sequence[bytes | None]) -> dict[str, Floats]:
        """Return ``(n,)`` values by kind, NaN where missing; raises NotPlainError."""
        met: dict[int, tuple[list[int], list[Sequence[bytes]]]] = {}
        for row, data in enumerate(column):
            if data:
                place, words = self._match(data)
                rows, cells = met.setdefault(place, ([], []))
                rows.append(row)
                cells.append(words)
        values: dict[str, Floats] = {}
        for place, (rows, cells) in met.items():
            for key, words in zip(self._layouts[place].keys, zip(*cells, strict=True), strict=True):
                _fill(values.setdefault(key, np.full(len(column), np.nan)), rows, words)
        return values

    def _match(self, data: bytes) -> tuple[int, Sequence[bytes]]:
        """Return the number of the layout that reads ``data``, and the words it picks."""
        for place, layout in enumerate(self._layouts):
            found = layout.pattern.fullmatch(data)
            if found is not None:
                return place, found.groups()
        if len(self._layouts) >= LAYOUT_LIMIT:
            raise NotPlainError
        layout, words = _layout(data)
        self._layouts.append(layout)
        return len(self._layouts) - 1, words


def _fill(column: Floats, rows: list[int], words: Sequence[bytes]) -> None:
    """Put words as numbers into the rows that have no value yet."""
    try:
        numbers = np.array([float(word) for word in words])
    except ValueError:
        found = [finite(word) for word in words]
        numbers = np.array([np.nan if value is None else value for value in found])
    numbers[np.isinf(numbers)] = np.nan
    column[rows] = np.where(np.isnan(column[rows]), numbers, column[rows])


def _layout(data: bytes) -> tuple[_Layout, Sequence[bytes]]:
    """Make the layout of ``data`` (plain tags, plain text between) and its words."""
    tags = list(_TAG.finditer(data))
    texts = _between(data, tags)
    if any(not _SLOT.fullmatch(text) for text in texts):
        raise NotPlainError
    _check_nesting(tags)
    pattern, keys, words = _SLOT.pattern, [], []
    for tag, text in zip(tags, texts[1:], strict=True):
        key = _leaf_key(tag)
        pattern += re.escape(tag[0]) + (b"(%b)" % _TEXT if key else _TEXT)
        if key:
            keys.append(key)
            words.append(text)
    return _Layout(re.compile(pattern), tuple(keys)), words


def _between(data: bytes, tags: Sequence[re.Match[bytes]]) -> list[bytes]:
    edges = [0, *(edge for tag in tags for edge in tag.span()), len(data)]
    return [data[start:end] for start, end in zip(edges[::2], edges[1::2], strict=True)]


def _check_nesting(tags: Sequence[re.Match[bytes]]) -> None:
    """Let the XML parser judge the bare tags, every prefix declared."""
    prefixes = {prefix for tag in tags for prefix in _PREFIX.findall(tag[0])} - {b"xmlns"}
    spaces = b"".join(b' xmlns:%b="u:%b"' % (prefix, prefix) for prefix in sorted(prefixes))
    try:
        etree.fromstring(b"<x%b>%b</x>" % (spaces, b"".join(tag[0] for tag in tags)))
    except etree.XMLSyntaxError:
        raise NotPlainError from None


def _leaf_key(tag: re.Match[bytes]) -> str | None:
    """Return the kind whose text follows an opening tag, None if no kind's does."""
    if tag[1] or tag[4]:
        return None
    return extra_key(tag[2].rpartition(b":")[2].decode())
