"""A picture as an image.

Gets a picture; gives an image in memory or a PNG file. Promises: the same picture gives the same
bytes.
"""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QBuffer, QIODevice
from PySide6.QtGui import QColor, QImage, QPainter

from loopwright.model.picture import Picture
from loopwright.render.application import ensure_application
from loopwright.render.files import write_whole
from loopwright.render.painter import paint
from loopwright.render.printing import MM_PER_INCH


def write_png(picture: Picture, path: Path, *, dpi: float = 150.0) -> None:
    """Write ``picture`` at ``dpi`` on white; raises WorldError when that cannot be done."""
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    drawn(picture, dpi=dpi).save(buffer, "PNG")  # type: ignore[call-overload] # stub wants bytes
    write_whole(path, bytes(buffer.data().data()))


def drawn(picture: Picture, *, dpi: float, paper: str = "#ffffff") -> QImage:
    """Paint ``picture`` on ``paper`` at ``dpi``."""
    ensure_application()
    scale = dpi / MM_PER_INCH
    width, height = round(picture.width_mm * scale), round(picture.height_mm * scale)
    image = QImage(width, height, QImage.Format.Format_RGB32)
    image.setDotsPerMeterX(round(scale * 1000))
    image.setDotsPerMeterY(round(scale * 1000))
    image.fill(QColor(paper))
    painter = QPainter(image)
    try:
        paint(picture, painter, scale=scale)
    finally:
        painter.end()
    return image
