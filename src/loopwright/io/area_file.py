"""The area file: everything a person put in, in one file.

Gets a Document; gives a zip with ``manifest.json``, ``document.json`` and ``tracks/HASH.npy``.
Promises: saving what was loaded gives the same bytes; a crash while saving leaves the old file or
the new one; the content before the last save stays beside it as ``NAME.bak``.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

from loopwright.errors import WorldError
from loopwright.io.area_zip import Members, damaged, open_members, pack
from loopwright.io.codec.document import get_document, put_document
from loopwright.io.codec.fields import Json, table
from loopwright.io.codec.rides import put_ride
from loopwright.io.files import check_regular, worldly, write_stream
from loopwright.io.json_pieces import table_of, table_text
from loopwright.io.lock import AreaLock
from loopwright.io.migrations import SCHEMA, migrate
from loopwright.model.document import Document

__all__ = ["AREA_SUFFIX", "AreaLock", "area_bytes", "load_area", "save_area", "write_area"]

AREA_SUFFIX = ".loopwright"
FILE_LIMIT = 4_000_000_000
_WORDS = "document.json"


def save_area(document: Document, path: Path) -> None:
    """Save to ``path``, keeping the content before as ``NAME.bak``; raises WorldError."""
    write_stream(path, lambda sink: write_area(document, sink), backup=True)


def write_area(document: Document, sink: BinaryIO) -> None:
    """Write the bytes of the area file; equal documents make equal bytes."""
    pack(sink, _members(document), schema=SCHEMA)


def area_bytes(document: Document) -> bytes:
    """Return the bytes of the area file."""
    sink = io.BytesIO()
    write_area(document, sink)
    return sink.getvalue()


def _members(document: Document) -> Iterator[tuple[str, bytes]]:
    """Yield the array of each ride, then the document that names them."""
    rides: list[Json] = []
    for ride in document.rides:
        words, data = put_ride(ride)
        rides.append(words)
        yield _array_name(words["array"]), data
    text = table_text(put_document(document, rides))
    yield _WORDS, text.encode("utf-8", "surrogatepass")


def _array_name(name: str) -> str:
    return f"tracks/{name}.npy"


def load_area(path: Path) -> Document:
    """Load the area at ``path``.

    Raises DamagedError for a file that is damaged or no area, WorldError for one that a newer
    program wrote or that cannot be read. Never writes.
    """
    check_regular(path, limit=FILE_LIMIT)
    with worldly(path), open_members(path) as members:
        if members.schema > SCHEMA:
            raise WorldError(
                str(path),
                f"was saved by a newer Loopwright (form {members.schema}, "
                f"this one knows up to {SCHEMA})",
                "update Loopwright to open it",
            )
        document = _document(path, members)
        members.check_all_read()
    return document


def _document(path: Path, members: Members) -> Document:
    try:
        words = table(table_of(members.read(_WORDS).decode("utf-8", "surrogatepass")))
        words = migrate(words, members.schema)
        return get_document(words, lambda name: members.read(_array_name(name)))
    except (ValueError, TypeError, OverflowError, RecursionError) as error:
        raise damaged(path, f"{_WORDS}: {error}") from error
