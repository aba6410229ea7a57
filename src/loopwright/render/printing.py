"""A picture on a printer or in a print preview.

Gets a picture and any paged device (a printer, a preview's printer, a PDF writer); gives one page.
Promises: the picture keeps its size in millimetres, and is made smaller only if the page is.
"""

from __future__ import annotations

from PySide6.QtGui import QPagedPaintDevice, QPageLayout, QPainter

from loopwright.model.picture import Picture
from loopwright.render.painter import paint
from loopwright.render.pdf import MM_PER_INCH, page_size


def print_picture(picture: Picture, printer: QPagedPaintDevice) -> None:
    """Paint ``picture`` centred on the printer's page, at its true size where it fits."""
    painter = QPainter(printer)
    page = printer.pageLayout().fullRect(QPageLayout.Unit.Millimeter)
    inner = printer.pageLayout().paintRect(QPageLayout.Unit.Millimeter)
    shrink = min(1.0, page.width() / picture.width_mm, page.height() / picture.height_mm)
    dots = printer.logicalDpiX() / MM_PER_INCH
    left = (page.width() - picture.width_mm * shrink) / 2 - inner.x()
    top = (page.height() - picture.height_mm * shrink) / 2 - inner.y()
    painter.translate(left * dots, top * dots)
    paint(picture, painter, scale=dots * shrink)
    painter.end()


def ask_for_page(picture: Picture, printer: QPagedPaintDevice) -> bool:
    """Ask the printer for a page of the picture's size; tell whether it agreed."""
    return bool(printer.setPageSize(page_size(picture)))
