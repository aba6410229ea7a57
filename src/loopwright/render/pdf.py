"""Pictures as the pages of a PDF with embedded fonts and text that can be selected.

Gets pictures of one size; gives a file. Promises: the same pictures and time give the same bytes.
"""

from __future__ import annotations

import re
import uuid
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

from PySide6.QtCore import QBuffer, QHashSeed, QIODevice, QMarginsF, QUuid
from PySide6.QtGui import QPdfWriter

from loopwright.model.picture import Picture
from loopwright.render.application import ensure_application
from loopwright.render.files import write_whole
from loopwright.render.printing import page_size, print_pages

RESOLUTION_DPI = 1200
INFO_DATE = re.compile(rb"/(?:CreationDate|ModDate) \(D:\d{14}(?:Z|[+-]\d\d'\d\d')\)")
META_DATE = re.compile(
    rb'xmp:(?:CreateDate|ModifyDate|MetadataDate)="\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(?:Z|[+-]\d\d:\d\d)"'
)
PRODUCT = uuid.uuid5(uuid.NAMESPACE_URL, "loopwright:card")


def write_pdf(pages: Sequence[Picture], path: Path, *, now: datetime | None = None) -> None:
    """Write ``pages``; ``now`` dates the document, None leaves it undated.

    Raises WorldError when the file cannot be written.
    """
    write_whole(path, pdf_bytes(pages, now=now))


def pdf_bytes(pages: Sequence[Picture], *, now: datetime | None = None) -> bytes:
    """Give the PDF itself; the first page's size and title are everyone's."""
    first = _drawn(pages, QUuid())
    name = uuid.uuid5(PRODUCT, _dated(first, None).hex())
    return _dated(_drawn(pages, QUuid(str(name))), now)


def _drawn(pages: Sequence[Picture], document: QUuid) -> bytes:
    ensure_application()
    # Fonts are written in the order of one of Qt's hash tables, which is random in each process.
    QHashSeed.setDeterministicGlobalSeed()
    try:
        return _written(pages, document)
    finally:
        QHashSeed.resetRandomGlobalSeed()


def _written(pages: Sequence[Picture], document: QUuid) -> bytes:
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QPdfWriter(buffer)
    writer.setDocumentId(document)
    writer.setTitle(pages[0].title)
    writer.setCreator("Loopwright")
    writer.setResolution(RESOLUTION_DPI)
    writer.setPageSize(page_size(pages[0]))
    writer.setPageMargins(QMarginsF(0.0, 0.0, 0.0, 0.0))
    print_pages(pages, writer)
    return bytes(buffer.data().data())


def _dated(content: bytes, now: datetime | None) -> bytes:
    """Replace the clock's stamps by ``now``, or by blanks, without moving a byte."""

    def stamp(found: re.Match[bytes], pattern: str) -> bytes:
        if now is None:
            return b" " * len(found[0])
        head = re.split(rb"\d", found[0], maxsplit=1)[0]
        digits = now.astimezone(UTC).strftime(pattern).encode()
        tail = found[0][len(head) + len(digits) :]
        return head + digits + re.sub(rb"[+-]", b"+", re.sub(rb"\d", b"0", tail))

    content = INFO_DATE.sub(lambda found: stamp(found, "%Y%m%d%H%M%S"), content)
    return META_DATE.sub(lambda found: stamp(found, "%Y-%m-%dT%H:%M:%S"), content)
