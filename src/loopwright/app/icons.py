"""The program's own icons, drawn as strokes in the colour of the text.

Gets a name and a look, gives an icon. Promises: a missing drawing gives an empty icon, and the
words beside it still say what it is.
"""

from __future__ import annotations

from PySide6.QtCore import QByteArray, QSize, Qt
from PySide6.QtGui import QIcon, QPainter, QPixmap
from PySide6.QtSvg import QSvgRenderer

from loopwright.app.look import Look
from loopwright.resources import folder

SIDE_PX = 16
INK_IN_FILE = "#1c1b1f"
"""The drawings are in the light theme's ink, which is swapped for the theme's own."""


def icon_size(look: Look) -> QSize:
    """Size at which icons are shown beside words."""
    return QSize(look.px(SIDE_PX), look.px(SIDE_PX))


def icon(name: str, look: Look) -> QIcon:
    """Give an icon by name."""
    if not name:
        return QIcon()
    path = folder("assets") / "icons" / f"{name}.svg"
    if not path.exists():
        return QIcon()
    drawing = path.read_text(encoding="utf-8").replace("currentColor", look.theme.ink)
    drawing = drawing.replace(INK_IN_FILE, look.theme.ink)
    side = look.px(SIDE_PX) * 2
    picture = QPixmap(side, side)
    picture.fill(Qt.GlobalColor.transparent)
    painter = QPainter(picture)
    QSvgRenderer(QByteArray(drawing.encode())).render(painter)
    painter.end()
    picture.setDevicePixelRatio(2.0)
    return QIcon(picture)
