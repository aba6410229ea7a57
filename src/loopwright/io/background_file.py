"""Backgrounds from a local file: a GeoTIFF or an MBTiles file.

Gets a path; gives a TileSource. Promises: nothing is fetched, nothing is written; what is no
picture is refused in one sentence.
"""

from __future__ import annotations

from pathlib import Path

from loopwright.errors import WorldError
from loopwright.io.files import check_regular, worldly
from loopwright.io.heights import TIFF_STARTS
from loopwright.model.background import TileSource

LIMIT = 64_000_000_000
_SQLITE_START = b"SQLite format 3\0"
PICK = "give a GeoTIFF or an MBTiles file of pictures"


def open_background(path: Path) -> TileSource:
    """Open a background by its content; raises WorldError saying what is wrong."""
    check_regular(path, limit=LIMIT)
    with worldly(path), path.open("rb") as source:
        head = source.read(16)
    if head == _SQLITE_START:
        from loopwright.io.tile_file import TileFile

        return TileFile(path)
    if head[:4] in TIFF_STARTS:
        from loopwright.io.picture_file import open_picture

        return open_picture(path)
    raise WorldError(str(path), "is no map picture", PICK)
