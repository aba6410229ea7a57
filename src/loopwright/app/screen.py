"""The application that widgets need.

Gets nothing; gives the running one or a new one. Promises: works without a screen.
"""

from __future__ import annotations

import os

from PySide6.QtCore import QCoreApplication
from PySide6.QtWidgets import QApplication

from loopwright.render.application import headless


def ensure_widgets() -> QApplication:
    """Give the running widget application, or start one; a painting-only one is replaced."""
    running = QCoreApplication.instance()
    if isinstance(running, QApplication):
        return running
    if running is not None:
        running.shutdown()
    if headless():
        os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    return QApplication(["loopwright"])
