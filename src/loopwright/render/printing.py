"""Pictures on a printer, in a print preview or on the pages of a PDF.

Gets pictures and any paged device (a printer, a preview's printer, a PDF writer); gives a page
each. Promises: a picture keeps its size in millimetres, and is made smaller only if the page is.
"""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QSizeF
from PySide6.QtGui import QPagedPaintDevice, QPageLayout, QPageSize, QPainter

from loopwright.model.picture import Picture
from loopwright.render.painter import paint

MM_PER_INCH = 25.4


def print_pages(pages: Sequence[Picture], device: QPagedPaintDevice) -> None:
    """Paint every picture centred on a page of its own, at its true size where it fits."""
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


def page_size(picture: Picture) -> QPageSize:
    """Give the page of the picture in Qt's words."""
    size = QSizeF(picture.width_mm, picture.height_mm)
    unit, match = QPageSize.Unit.Millimeter, QPageSize.SizeMatchPolicy.ExactMatch
    return QPageSize(size, unit, "card", match)


def ask_for_page(picture: Picture, printer: QPagedPaintDevice) -> bool:
    """Ask the printer for a page of the picture's size; tell whether it agreed."""
    return bool(printer.setPageSize(page_size(picture)))
