"""Unsaved work kept aside every two minutes, and offered again after a crash.

Gets a window and a state folder; writes autosaves in jobs. Promises: the area file itself is never
touched; what was offered and refused is gone only once something newer is kept.
"""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QTimer

from loopwright.app.words import say
from loopwright.errors import WorldError
from loopwright.jobs import Report
from loopwright.model.document import Document

if TYPE_CHECKING:
    from loopwright.app.files import Files

EVERY_MS = 120_000


class Safekeeping:
    """Autosaves of one window."""

    def __init__(self, files: Files, state: Path | None) -> None:
        self._files, self._desk, self._state = files, files.desk, state
        self._kept: Document | None = None
        self._timer = QTimer(files.window)
        self._timer.setInterval(EVERY_MS)
        self._timer.timeout.connect(self.keep)
        if state is not None:
            self._timer.start()

    def keep(self) -> None:
        """Keep unsaved work aside, if there is any that is not kept yet."""
        workspace, state = self._desk.workspace, self._state
        document = workspace.document
        if state is None or not workspace.dirty or document is self._kept:
            return
        self._kept = document
        self._desk.jobs.start(
            "autosave",
            partial(_keep, document, workspace.path, state),
            on_done=partial(self._settle, workspace.path),
            on_failed=self._desk.failed,
        )

    def _settle(self, path: Path | None, _answer: None) -> None:
        """Drop what was kept too late: the area was saved or left while it was being written."""
        workspace = self._desk.workspace
        if workspace.path != path or not workspace.dirty:
            self.drop(path)

    def drop(self, path: Path | None) -> None:
        """Drop the autosave of an area: it is saved, or left on purpose."""
        from loopwright.io.autosave import discard_autosave

        if self._state is None:
            return
        try:
            discard_autosave(path, self._state)
        except WorldError as error:
            self._desk.warn(str(error))

    def found(self, path: Path | None) -> Path | None:
        """Give the autosave of an area that is newer than the area, if there is one."""
        from loopwright.io.autosave import find_recoverable

        return None if self._state is None else find_recoverable(path, self._state)

    def offer(self, path: Path | None) -> Document | None:
        """Offer unsaved work of an area after a crash; None if there is none or it is refused."""
        from loopwright.io.area_file import load_area

        kept = self.found(path)
        if kept is None:
            return None
        choice = self._files.window.dialogs.pick(
            say("Unsaved work was kept"),
            say("The program ended before this area was saved. Which one do you want?"),
            [say("The unsaved work"), say("The area as saved")],
        )
        return load_area(kept) if choice == 0 else None

    def close(self) -> None:
        """Stop keeping."""
        self._timer.stop()


def _keep(document: Document, path: Path | None, state: Path, report: Report) -> None:
    from loopwright.io.autosave import save_autosave

    report.check()
    save_autosave(document, path, state)
