"""Start the window: what the command line calls.

Gets an area to open or none; gives an exit code. Promises: the window's frame is up before the
libraries that do the work are loaded, which happens beside it; closing ends all jobs, and what does
not end in time is left behind rather than waited for.
"""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path
from threading import Thread
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QSettings, QTimer, Signal
from PySide6.QtWidgets import QApplication

from loopwright.app.look import dress
from loopwright.app.remembered import Remembered
from loopwright.app.screen import ensure_widgets
from loopwright.app.window import Window
from loopwright.app.words import say

if TYPE_CHECKING:
    from loopwright.app.opening import Opened

SWITCH_S = 0.0002
"""Jobs hand the interpreter over this often, so that the window answers while they work."""
ORGANISATION = "Loopwright"
FURNITURE = (
    "opening", "map_pane", "profile", "place_ground", "place_loops", "place_laps", "place_season",
)  # fmt: skip
"""Modules the window takes in when it is furnished: each would hold it up for its imports."""
BESIDE = ("io.area_file", "io.autosave", "io.lock", "loops.by_hand", "features.replay")
"""What the first area, and the first click on the map, ask for."""
LATEST_MS = 300
"""The work begins after the first frame, or after this long where nothing is painted."""


def run(path: Path | None) -> int:
    """Open the window on an area, the last one, or the invented sample area."""
    sys.setswitchinterval(SWITCH_S)
    application = ensure_widgets()
    application.setApplicationName("loopwright")
    application.setDesktopFileName("loopwright")
    start = Start(application, path, Remembered.read())
    _restore(start.window)
    loaded = Loaded()
    start.went_on.connect(loaded.keep)
    start.show()
    code = application.exec()
    _store(start.window)
    if not start.close():
        sys.stdout.flush()
        os._exit(code)
    return code


class Loaded:
    """What was loaded stays: to look through it for rubbish would hold up all threads."""

    def __init__(self) -> None:
        self._modules = 0

    def keep(self) -> None:
        """Spare everything there is from the search for rubbish, if modules came since."""
        if len(sys.modules) != self._modules:
            self._modules = len(sys.modules)
            gc.freeze()


class Start(QObject):
    """A window on its way up: frame first, then libraries, then furniture, then the area."""

    went_on = Signal()
    """The next piece of the way up was done, or jobs went on."""

    def __init__(
        self, application: QApplication, path: Path | None, remembered: Remembered
    ) -> None:
        super().__init__()
        self._application, self._path, self._remembered = application, path, remembered
        look = remembered.look()
        dress(application, look)
        self.window = Window(look)
        self.opened: Opened | None = None
        self._begun = self._closed = False
        self._steps: Iterator[Opened | None] | None = None
        self._next = QTimer(self)
        self._next.timeout.connect(self._step)
        self.window.blank.painted.connect(self._begin)

    def show(self) -> None:
        """Show the frame; the rest follows once it is painted."""
        self.window.show()
        QTimer.singleShot(LATEST_MS, self, self._begin)

    def _begin(self) -> None:
        if not self._begun:
            self._begun = True
            self._loading = Thread(target=_load, name="load the rooms", daemon=True)
            self._loading.start()
            self._next.start(0)

    def _step(self) -> None:
        """Do the next piece, unless it still waits for libraries or the window has gone."""
        self.went_on.emit()
        if self._loading.is_alive():
            self._loading.join(0.002)
            return
        if self._steps is None:
            self._steps = self._furniture()
        self.opened = next(self._steps, None)
        if self.opened is not None:
            self._next.stop()
            self.opened.desk.jobs.progressed.connect(self.went_on)
            self._first_area(self.opened)

    def _furniture(self) -> Iterator[Opened | None]:
        from loopwright.app.opening import Furniture
        from loopwright.model.document import Document

        return Furniture(
            document=Document(name=say("New area")), elsewhere=True,
            remembered=self._remembered,
            change_look=lambda look: dress(self._application, look),
        ).put_into(self.window)  # fmt: skip

    def _first_area(self, opened: Opened) -> None:
        opened.files.begin(self._path or self._remembered.last_area())

    def close(self) -> bool:
        """End everything; True if all came to rest in time."""
        self._next.stop()
        self._begun = True
        if self.opened is None and self._steps is not None:
            *_, self.opened = self._steps  # half furnished: whole, it knows how to end
        return self.opened is None or self.opened.close()


def _load() -> None:
    """Load what the furniture stands on, and the furniture's own modules, beside the window."""
    for name in FURNITURE:
        import_module(f"loopwright.app.{name}")
    for name in BESIDE:
        import_module(f"loopwright.{name}")
    import_module("loopwright.app.told").in_table("")  # the first question takes 10 ms


def _settings() -> QSettings:
    return QSettings(ORGANISATION, "loopwright")


def _restore(window: Window) -> None:
    geometry = _settings().value("geometry")
    window.resize(1400, 900)
    if geometry is not None:
        window.restoreGeometry(geometry)


def _store(window: Window) -> None:
    _settings().setValue("geometry", window.saveGeometry())
