"""What every reader of XML keeps to: no entities, nothing fetched, no limit lifted.

Gets a path; gives its bytes in chunks and a parser that takes them. Promises: a file that declares
entities of its own is refused before parsing; an error of the parser becomes one clear line.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from lxml import etree

from loopwright.errors import WorldError
from loopwright.io.files import worldly
from loopwright.io.plain import plain

CHUNK = 1 << 20
_HEAD = 1 << 16


def chunks(path: Path, *, remedy: str) -> Iterator[bytes]:
    """Yield the bytes of a file; refuses one whose head declares entities."""
    with worldly(path), path.open("rb") as source:
        head = source.read(_HEAD)
        _refuse_declarations(path, head, remedy)
        yield head
        while chunk := source.read(CHUNK):
            yield chunk


def _refuse_declarations(path: Path, head: bytes, remedy: str) -> None:
    """Refuse a document type with declarations of its own: they only serve to swell a file."""
    bare = head.replace(b"\0", b"")  # UTF-16 keeps its ASCII between zeros
    start = bare.find(b"<!DOCTYPE")
    if b"<!ENTITY" in bare or (start >= 0 and b"[" in bare[start : bare.find(b">", start)]):
        raise WorldError(
            str(path), "declares entities of its own, which no such file needs", remedy
        )


def pull_parser(tags: tuple[str, ...]) -> etree.XMLPullParser:
    """Return a parser that is fed chunks and reports start and end of ``tags`` (``{*}name``)."""
    return etree.XMLPullParser(
        events=("start", "end"), tag=tags, resolve_entities=False, no_network=True, load_dtd=False,
        huge_tree=False, remove_comments=True, remove_pis=True,
    )  # fmt: skip


def syntax_error(path: Path, error: etree.XMLSyntaxError, *, remedy: str) -> WorldError:
    """Say where the XML breaks."""
    words = (error.msg or "no content").split(", line ")[0]
    line = error.lineno or 1
    low = words.lower()
    if not error.lineno:
        return WorldError(str(path), "is not well-formed XML (an unknown entity or no end)", remedy)
    if "encoding" in low or "utf-8" in low or "bytes" in low:
        what = f"is not in the character encoding it declares (line {line})"
    else:
        what = f"breaks off or is not well-formed XML at line {line} ({plain(words)})"
    return WorldError(str(path), what, remedy)


def local(element: etree._Element) -> str:
    """Name of an element without its namespace."""
    return str(element.tag).rpartition("}")[2]
