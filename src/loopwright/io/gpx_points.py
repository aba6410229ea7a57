"""Points of GPX tracks, gathered into recorded tracks.

Gets ``trkpt`` and ``rtept`` elements in order; gives one RecordedTrack per track. Promises:
power, heart rate and cadence are found under any namespace and any nesting, by their names.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
from lxml import etree

from loopwright.errors import WorldError
from loopwright.io.gpx_columns import Block, Rows, block, finite
from loopwright.io.gpx_names import extra_key
from loopwright.io.gpx_quick import MARKER
from loopwright.io.plain import file_name
from loopwright.model.track import RecordedTrack

POINTS = frozenset({"trkpt", "rtept"})
_KNOWN_LIMIT = 1000


class TooMuchError(WorldError):
    """The file passes a limit, however it is read."""


class Gatherer:
    """Collects the points of one track after another."""

    def __init__(self, path: Path, *, limit: int, runs: Sequence[Block] = ()) -> None:
        """Start for ``path``; refuses more than ``limit`` points in the whole file.

        ``runs`` are the points that markers stand for.
        """
        self._path = path
        self._limit = limit
        self.points = 0
        self._runs = runs
        self._kinds: dict[object, str] = {}
        self._track = 0
        self._blocks: list[tuple[int, Block]] = []
        self._piece = -1

    def start(self) -> None:
        """Begin a track."""
        self._blocks = []
        self._piece = -1
        self._track += 1

    def next_piece(self) -> None:
        """Begin a segment."""
        self._piece += 1

    def add(self, elements: Sequence[etree._Element]) -> None:
        """Read the points among ``elements``; raises WorldError for a bad one."""
        rows = Rows()
        for element in elements:
            kind = self._kind(element.tag)
            if kind in POINTS:
                self._read(element, rows)
            elif kind == MARKER and self._runs:
                rows = self._flush(rows)
                self._keep(self._runs[int(element.get("i", ""))])
        self._flush(rows)

    def _flush(self, rows: Rows) -> Rows:
        """Keep the rows gathered so far and give an empty set."""
        if len(rows):
            before = sum(len(done) for _, done in self._blocks)
            self._keep(block(rows, lambda row, what: self._bad(rows, row, before, what)))
        return Rows()

    def _keep(self, points: Block) -> None:
        self.points += len(points)
        if self.points > self._limit:
            raise TooMuchError(str(self._path), "holds too many points for one file", "split it")
        self._blocks.append((max(self._piece, 0), points))

    def _bad(self, rows: Rows, row: int, before: int, what: str) -> WorldError:
        place = f"track {self._track}, point {before + row + 1}"
        line = rows.elements[row].sourceline
        return WorldError(
            str(self._path), f"{what} at {place}, line {line}",
            "remove that point or export the ride again",
        )  # fmt: skip

    def _kind(self, tag: object) -> str:
        """Name of a tag without its namespace, remembered."""
        kind = self._kinds.get(tag)
        if kind is None:
            kind = str(tag).rpartition("}")[2]
            if len(self._kinds) < _KNOWN_LIMIT:
                self._kinds[tag] = kind
        return kind

    def _read(self, element: etree._Element, rows: Rows) -> None:
        ele = time = None
        for child in element:
            kind = self._kind(child.tag)
            if kind == "ele":
                ele = child.text if ele is None else ele
            elif kind == "time":
                time = child.text if time is None else time
            elif len(child):
                self._extras(child, rows)
        rows.lat.append(element.get("lat"))
        rows.lon.append(element.get("lon"))
        rows.ele.append(ele)
        rows.time.append(time)
        rows.elements.append(element)

    def _extras(self, parent: etree._Element, rows: Rows) -> None:
        for child in parent.iterdescendants():
            key = extra_key(self._kind(child.tag))
            value = None if key is None else finite(child.text or "")
            if key is not None and value is not None:
                rows.extras.setdefault(key, {}).setdefault(len(rows), value)

    def finish(self, name: str) -> RecordedTrack | None:
        """End the track; None if it holds no points."""
        blocks, self._blocks = self._blocks, []
        if not blocks:
            return None
        pieces, parts = zip(*blocks, strict=True)
        keys = sorted({key for part in parts for key in part.extras if part.has(key)})
        return RecordedTrack(
            name=name, source=file_name(self._path),
            lat=np.concatenate([part.lat for part in parts]),
            lon=np.concatenate([part.lon for part in parts]),
            ele_m=np.concatenate([part.ele_m for part in parts]),
            time_s=np.concatenate([part.time_s for part in parts]),
            piece=np.repeat(np.array(pieces, dtype=np.int32), [len(part) for part in parts]),
            extras={key: np.concatenate([part.column(key) for part in parts]) for key in keys},
        )  # fmt: skip
