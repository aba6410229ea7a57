"""Start the window: what the command line calls.

Gets an area to open or none; gives an exit code. Promises: the window is up before anything is
read; closing ends all jobs, and what does not end in time is left behind rather than waited for.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QApplication

from loopwright.app.late import kept, late_pipeline
from loopwright.app.look import dress
from loopwright.app.opening import Opened, open_window
from loopwright.app.picture import ensure_widgets
from loopwright.app.remembered import Remembered
from loopwright.app.words import say
from loopwright.model.document import Document

SWITCH_S = 0.001
"""Jobs hand the interpreter over this often, so that the window answers while they work."""
ORGANISATION = "Loopwright"


def run(path: Path | None) -> int:
    """Open the window on an area, the last one, or the invented sample area."""
    sys.setswitchinterval(SWITCH_S)
    application = ensure_widgets()
    application.setApplicationName("loopwright")
    application.setDesktopFileName("loopwright")
    remembered = Remembered.read()
    opened = start(application, path, remembered)
    _restore(opened)
    opened.window.show()
    code = application.exec()
    _store(opened)
    if not opened.close():
        sys.stdout.flush()
        os._exit(code)
    return code


def start(application: QApplication, path: Path | None, remembered: Remembered) -> Opened:
    """Make the window and set its first area on the way."""
    look = remembered.look()
    dress(application, look)
    opened = open_window(
        Document(name=say("New area")), look, elsewhere=True, remembered=remembered,
        pipeline=late_pipeline(kept),
        change_look=lambda changed: dress(application, changed),
    )  # fmt: skip
    first = path or remembered.last_area()
    if first is not None:
        opened.files.open(first)
    else:
        opened.files.open_sample()
    return opened


def _settings() -> QSettings:
    return QSettings(ORGANISATION, "loopwright")


def _restore(opened: Opened) -> None:
    geometry = _settings().value("geometry")
    opened.window.resize(1400, 900)
    if geometry is not None:
        opened.window.restoreGeometry(geometry)


def _store(opened: Opened) -> None:
    _settings().setValue("geometry", opened.window.saveGeometry())
