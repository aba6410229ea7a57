"""Several pictures as the pages of one print or one PDF.

Gets pictures of one size and a paged device; gives a page each, at true size where it fits.
"""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QBuffer, QIODevice, QMarginsF
from PySide6.QtGui import QPagedPaintDevice, QPageLayout, QPainter, QPdfWriter

from loopwright.model.picture import Picture
from loopwright.render.application import ensure_application
from loopwright.render.painter import paint
from loopwright.render.pdf import MM_PER_INCH, RESOLUTION_DPI, page_size


def print_pages(pages: Sequence[Picture], device: QPagedPaintDevice) -> None:
    """Paint every page centred on a page of its own; smaller only if the paper is."""
    painter = QPainter(device)
    layout, dots = device.pageLayout(), device.logicalDpiX() / MM_PER_INCH
    page = layout.fullRect(QPageLayout.Unit.Millimeter)
    inner = layout.paintRect(QPageLayout.Unit.Millimeter)
    for number, picture in enumerate(pages):
        if number:
            device.newPage()
        shrink = min(1.0, page.width() / picture.width_mm, page.height() / picture.height_mm)
        left = (page.width() - picture.width_mm * shrink) / 2 - inner.x()
        top = (page.height() - picture.height_mm * shrink) / 2 - inner.y()
        painter.save()
        painter.translate(left * dots, top * dots)
        paint(picture, painter, scale=dots * shrink)
        painter.restore()
    painter.end()


def pages_pdf(pages: Sequence[Picture]) -> bytes:
    """Give one PDF with a page for each picture; the first one's size is everyone's."""
    ensure_application()
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QPdfWriter(buffer)
    writer.setTitle(pages[0].title)
    writer.setCreator("Loopwright")
    writer.setResolution(RESOLUTION_DPI)
    writer.setPageSize(page_size(pages[0]))
    writer.setPageMargins(QMarginsF(0.0, 0.0, 0.0, 0.0))
    print_pages(pages, writer)
    return bytes(buffer.data().data())
