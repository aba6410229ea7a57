"""Tiles from an MBTiles file (MBTiles specification 1.3, an open one): pictures in one SQLite file.

Gets a path; gives a TileSource. Promises: the file is opened for reading only and nothing is laid
beside it; each thread has a connection of its own; one question to it can neither return more than
``TILE_LIMIT`` bytes nor work for ever; vector tiles are refused in one sentence.
"""

from __future__ import annotations

import html
import re
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from urllib.parse import quote

from loopwright.errors import WorldError, one_line
from loopwright.geo.tiles import MOST_ZOOM

TILE_LIMIT = 4_000_000
STEPS_LIMIT = 20_000_000
"""Steps of the database engine a question may take: a second or so."""
PICTURES = ("png", "jpg", "jpeg", "webp")
CREDIT_LIMIT = 300
_TAG = re.compile(r"<[^>]*>")
_PICK = "give an MBTiles file of PNG, JPEG or WebP pictures"


class TileFile:
    """An MBTiles file."""

    def __init__(self, path: Path) -> None:
        """Read what the file says of itself; raises WorldError."""
        self._path = path
        said = self._said()
        kind = said.get("format", "")
        if kind and kind.lower() not in PICTURES:
            words = f"holds tiles of the kind {one_line(kind)[:20]!r}, not pictures"
            raise WorldError(str(path), words, _PICK)
        self.credit = plain_credit(said.get("attribution", ""))
        self.least_zoom, self.most_zoom = self._zooms()

    @contextmanager
    def _open(self) -> Iterator[sqlite3.Connection]:
        # Immutable: else a file that asks for a write-ahead log gets one laid beside it.
        address = f"file:{quote(str(self._path.absolute()))}?mode=ro&immutable=1"
        try:
            with closing(sqlite3.connect(address, uri=True, timeout=1.0)) as link:
                link.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, TILE_LIMIT)
                link.execute("PRAGMA trusted_schema = OFF")
                link.set_progress_handler(lambda: 1, STEPS_LIMIT)
                yield link
        except (sqlite3.Error, UnicodeDecodeError, OverflowError, MemoryError) as error:
            said = one_line(str(error))[:80] or "asks for more memory than there is"
            words = f"is a damaged MBTiles file ({said})"
            raise WorldError(str(self._path), words, _PICK) from error

    def _said(self) -> dict[str, str]:
        with self._open() as link:
            rows = link.execute("SELECT name, value FROM metadata LIMIT 1000").fetchall()
        return {str(name): str(value) for name, value in rows}

    def _zooms(self) -> tuple[int, int]:
        with self._open() as link:
            least = link.execute("SELECT min(zoom_level) FROM tiles").fetchone()[0]
            most = link.execute("SELECT max(zoom_level) FROM tiles").fetchone()[0]
        if not isinstance(least, int) or not isinstance(most, int):
            raise WorldError(str(self._path), "holds no tiles", _PICK)
        if not 0 <= least <= most <= MOST_ZOOM:
            raise WorldError(str(self._path), f"holds tiles of zoom {most}", _PICK)
        return least, most

    def tile(self, zoom: int, column: int, row: int) -> bytes | None:
        """Return a tile's file, None where there is none. Rows in the file count from the south."""
        where = (zoom, column, 2**zoom - 1 - row)
        question = (
            "SELECT tile_data FROM tiles "
            "WHERE zoom_level = ? AND tile_column = ? AND tile_row = ? LIMIT 1"
        )
        with self._open() as link:
            found = link.execute(question, where).fetchone()
        return found[0] if found and isinstance(found[0], bytes) else None


def plain_credit(words: str) -> str:
    """Return a credit as plain text: marks of HTML gone, one line, at most ``CREDIT_LIMIT``."""
    return one_line(html.unescape(_TAG.sub(" ", words)))[:CREDIT_LIMIT]
