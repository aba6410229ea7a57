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
from loopwright.io.gpx_columns import Block, Rows, block
from loopwright.io.gpx_times import TimeReader
from loopwright.model.track import RecordedTrack

_POINTS = frozenset({"trkpt", "rtept"})
_EXTRAS = {
    "power": "power_w", "powerinwatts": "power_w", "watts": "power_w",
    "hr": "heart_rate_bpm", "heartrate": "heart_rate_bpm",
    "cad": "cadence_rpm", "cadence": "cadence_rpm",
}  # fmt: skip
_KNOWN_LIMIT = 1000


class Gatherer:
    """Collects the points of one track after another."""

    def __init__(self, path: Path, *, limit: int) -> None:
        """Start for ``path``; refuses more than ``limit`` points in the whole file."""
        self._path = path
        self._left = limit
        self._times = TimeReader()
        self._kinds: dict[object, str] = {}
        self._track = 0
        self._blocks: list[Block] = []
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
            if self._kind(element.tag) in _POINTS:
                self._read(element, rows)
        if not len(rows):
            return
        self._left -= len(rows)
        if self._left < 0:
            raise WorldError(str(self._path), "holds too many points for one file", "split it")
        before = sum(len(done.lat) for done in self._blocks)

        def complain(row: int, what: str) -> WorldError:
            place = f"track {self._track}, point {before + row + 1}"
            line = rows.elements[row].sourceline
            return WorldError(
                str(self._path), f"{what} at {place}, line {line}",
                "remove that point or export the ride again",
            )  # fmt: skip

        piece = max(self._piece, 0)
        self._blocks.append(block(rows, piece=piece, times=self._times, complain=complain))

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
            key = _EXTRAS.get(self._kind(child.tag).lower())
            if key is not None and child.text:
                rows.extras.setdefault(key, {}).setdefault(len(rows), child.text)

    def finish(self, name: str) -> RecordedTrack | None:
        """End the track; None if it holds no points."""
        blocks, self._blocks = self._blocks, []
        if not blocks:
            return None
        sizes = [len(each.lat) for each in blocks]
        keys = sorted({key for each in blocks for key in each.extras})
        return RecordedTrack(
            name=name, source=self._path.name,
            lat=np.concatenate([each.lat for each in blocks]),
            lon=np.concatenate([each.lon for each in blocks]),
            ele_m=np.concatenate([each.ele_m for each in blocks]),
            time_s=np.concatenate([each.time_s for each in blocks]),
            piece=np.repeat(np.array([each.piece for each in blocks], dtype=np.int32), sizes),
            extras={key: np.concatenate([each.column(key) for each in blocks]) for key in keys},
        )  # fmt: skip
