"""The Qt application that painting needs, and the fonts it paints with.

Gets nothing; gives a running QGuiApplication with the shipped fonts loaded once. Promises: works
without a screen, and never touches an application that is already there.
"""

from __future__ import annotations

import os
import sys
from typing import cast

from PySide6.QtGui import QFont, QFontDatabase, QGuiApplication

from loopwright.resources import folder

FAMILY = "Noto Sans"
FAMILIES = (FAMILY, "Noto Sans Hebrew", "Noto Sans Arabic")
FONTS_LOADED = "loopwright_fonts_loaded"


def ensure_application() -> QGuiApplication:
    """Give the running application, or start one that needs no screen when there is none."""
    app = QGuiApplication.instance()
    if app is None:
        if headless():
            os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
        app = QGuiApplication(["loopwright"])
    load_fonts(cast("QGuiApplication", app))
    return cast("QGuiApplication", app)


def headless() -> bool:
    """Tell whether this machine has no screen to draw on."""
    linux = sys.platform.startswith("linux")
    return linux and not (os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def load_fonts(app: QGuiApplication) -> None:
    """Register the shipped fonts with ``app``; a second call does nothing."""
    if app.property(FONTS_LOADED):
        return
    for path in sorted((folder("assets") / "fonts").glob("*.ttf")):
        QFontDatabase.addApplicationFont(str(path))
    app.setProperty(FONTS_LOADED, True)  # noqa: FBT003 - Qt's own signature


def shipped_font(*, pixels: int, bold: bool = False) -> QFont:
    """Give the shipped font; advances add up plainly (no kerning, ligatures, hinting)."""
    font = QFont(list(FAMILIES))
    font.setPixelSize(pixels)
    font.setWeight(QFont.Weight.Bold if bold else QFont.Weight.Normal)
    for feature in ("liga", "clig"):
        font.setFeature(QFont.Tag(feature), 0)
    font.setKerning(False)
    font.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
    font.setStyleStrategy(QFont.StyleStrategy.PreferOutline)
    return font
