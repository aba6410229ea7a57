"""A picture as a one-page PDF with embedded fonts and text that can be selected.

Gets a picture; gives a file. Promises: the same picture and time give the same bytes.
"""

from __future__ import annotations

import re
import uuid
from datetime import UTC, datetime
from pathlib import Path

from PySide6.QtCore import QBuffer, QHashSeed, QIODevice, QMarginsF, QSizeF, QUuid
from PySide6.QtGui import QPageSize, QPainter, QPdfWriter

from loopwright.model.picture import Picture
from loopwright.render.application import ensure_application
from loopwright.render.files import write_whole
from loopwright.render.painter import paint

RESOLUTION_DPI = 1200
MM_PER_INCH = 25.4
INFO_DATE = re.compile(rb"/(?:CreationDate|ModDate) \(D:\d{14}(?:Z|[+-]\d\d'\d\d')\)")
META_DATE = re.compile(
    rb'xmp:(?:CreateDate|ModifyDate|MetadataDate)="\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(?:Z|[+-]\d\d:\d\d)"'
)
PRODUCT = uuid.uuid5(uuid.NAMESPACE_URL, "loopwright:card")


def write_pdf(picture: Picture, path: Path, *, now: datetime | None = None) -> None:
    """Write ``picture``; ``now`` dates the document, None leaves it undated.

    Raises WorldError when the file cannot be written.
    """
    write_whole(path, pdf_bytes(picture, now=now))


def pdf_bytes(picture: Picture, *, now: datetime | None = None) -> bytes:
    """Give the PDF itself."""
    first = _drawn(picture, QUuid())
    name = uuid.uuid5(PRODUCT, _dated(first, None).hex())
    return _dated(_drawn(picture, QUuid(str(name))), now)


def _drawn(picture: Picture, document: QUuid) -> bytes:
    ensure_application()
    # Fonts are written in the order of one of Qt's hash tables, which is random in each process.
    QHashSeed.setDeterministicGlobalSeed()
    try:
        return _written(picture, document)
    finally:
        QHashSeed.resetRandomGlobalSeed()


def _written(picture: Picture, document: QUuid) -> bytes:
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QPdfWriter(buffer)
    writer.setDocumentId(document)
    writer.setTitle(picture.title)
    writer.setCreator("Loopwright")
    writer.setResolution(RESOLUTION_DPI)
    writer.setPageSize(page_size(picture))
    writer.setPageMargins(QMarginsF(0.0, 0.0, 0.0, 0.0))
    painter = QPainter(writer)
    try:
        paint(picture, painter, scale=RESOLUTION_DPI / MM_PER_INCH)
    finally:
        painter.end()
    return bytes(buffer.data().data())


def page_size(picture: Picture) -> QPageSize:
    """Give the page of the picture in Qt's words."""
    size = QSizeF(picture.width_mm, picture.height_mm)
    unit, match = QPageSize.Unit.Millimeter, QPageSize.SizeMatchPolicy.ExactMatch
    return QPageSize(size, unit, "card", match)


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
