"""The window as a picture, without a screen: for the headless main job and the guide.

Gets a document; gives a PNG. Promises: works with no display; ends every job it started.
"""

from __future__ import annotations

import os
import time
from pathlib import Path

from PySide6.QtCore import QCoreApplication
from PySide6.QtWidgets import QApplication

from loopwright.app.look import dress, make_look
from loopwright.app.opening import Opened, open_window
from loopwright.errors import WorldError
from loopwright.model.document import Document
from loopwright.pipeline import Pipeline
from loopwright.render.application import headless

WAIT_S = 120.0
STEP_S = 0.02


def save_window_picture(
    document: Document,
    path: Path,
    *,
    size: tuple[int, int] = (1400, 900),
    place: str = "loops",
    theme: str = "light",
    scale: float = 1.0,
    pipeline: Pipeline | None = None,
) -> None:
    """Open the window on a document, let its jobs end, and save what it shows.

    ``size`` is in pixels. Raises WorldError when the picture cannot be written.
    """
    application = ensure_widgets()
    look = make_look(theme, scale=scale)
    dress(application, look)
    opened = open_window(document, look, pipeline=pipeline)
    try:
        opened.window.resize(*size)
        opened.window.show()
        opened.window.go(place)
        settle(application, opened)
        if not opened.window.grab().save(str(path), "PNG"):
            raise WorldError(str(path), "cannot be written", "choose another place for it")
    finally:
        opened.close()
        opened.window.hide()
        opened.window.deleteLater()
        application.processEvents()


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


def settle(application: QApplication, opened: Opened, *, wait_s: float = WAIT_S) -> None:
    """Let events and jobs run until nothing is under way; raises WorldError after ``wait_s``."""
    until = time.monotonic() + wait_s
    calm = 0
    while calm < 5:
        application.processEvents()
        calm = 0 if opened.desk.jobs.busy() else calm + 1
        if time.monotonic() > until:
            raise WorldError("window", "its jobs did not end", "try a smaller area")
        time.sleep(STEP_S)
