"""The area file: everything a person put in, in one file.

Gets a Document; gives a zip with ``manifest.json``, ``document.json`` and ``tracks/HASH.npy``.
Promises: saving what was loaded gives the same bytes; a crash while saving leaves the old file or
the new one; the content before the last save stays beside it as ``NAME.bak``.
"""

from __future__ import annotations

import json
from pathlib import Path

from loopwright.errors import WorldError
from loopwright.io.area_zip import damaged, pack, unpack
from loopwright.io.codec.document import get_document, put_document
from loopwright.io.codec.fields import Json, table
from loopwright.io.files import check_regular, worldly, write_bytes
from loopwright.io.lock import AreaLock
from loopwright.io.migrations import SCHEMA, migrate
from loopwright.model.document import Document

__all__ = ["AREA_SUFFIX", "AreaLock", "area_bytes", "load_area", "save_area"]

AREA_SUFFIX = ".loopwright"
FILE_LIMIT = 4_000_000_000
_WORDS = "document.json"


def save_area(document: Document, path: Path) -> None:
    """Save to ``path``, keeping the content before as ``NAME.bak``; raises WorldError."""
    write_bytes(path, area_bytes(document), backup=True)


def area_bytes(document: Document) -> bytes:
    """Return the bytes of the area file; equal documents make equal bytes."""
    words, arrays = put_document(document)
    text = json.dumps(words, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    members = {_WORDS: text.encode("utf-8", "surrogatepass")}
    members |= {_array_name(name): data for name, data in arrays.items()}
    return pack(members, schema=SCHEMA)


def _array_name(name: str) -> str:
    return f"tracks/{name}.npy"


def load_area(path: Path) -> Document:
    """Load the area at ``path``.

    Raises DamagedError for a file that is damaged or no area, WorldError for one that a newer
    program wrote or that cannot be read. Never writes.
    """
    check_regular(path, limit=FILE_LIMIT)
    with worldly(path):
        schema, members = unpack(path)
    if schema > SCHEMA:
        raise WorldError(
            str(path),
            f"was saved by a newer Loopwright (form {schema}, this one knows up to {SCHEMA})",
            "update Loopwright to open it",
        )
    return _document(path, schema, members)


def _document(path: Path, schema: int, members: dict[str, bytes]) -> Document:
    try:
        words = migrate(_words(members), schema)
        document = get_document(words, lambda name: _member(members, _array_name(name)))
    except (ValueError, TypeError, OverflowError, RecursionError) as error:
        raise damaged(path, f"{_WORDS}: {error}") from error
    return document


def _words(members: dict[str, bytes]) -> Json:
    return table(json.loads(_member(members, _WORDS).decode("utf-8", "surrogatepass")))


def _member(members: dict[str, bytes], name: str) -> bytes:
    if name not in members:
        message = f"{name} is missing"
        raise ValueError(message)
    return members[name]
