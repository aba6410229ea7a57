"""Unsaved work kept aside every two minutes, and offered again after a crash.

Gets a window and a state folder; writes autosaves in jobs. Promises: the area file itself is never
touched; windows never write over what another one keeps; what was offered and refused is gone only
once something newer is kept.
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
    from loopwright.io.area_file import AreaLock

EVERY_MS = 120_000


class Safekeeping:
    """Autosaves of one window."""

    def __init__(self, files: Files, state: Path | None) -> None:
        self._files, self._desk, self._state = files, files.desk, state
        self._kept: Document | None = None
        self._place: tuple[int, AreaLock] | None = None
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
            partial(_keep, document, workspace.path, state, self._claim(workspace.path)),
            on_done=partial(self._settle, workspace.path),
            on_failed=self._not_kept,
        )

    def _claim(self, path: Path | None, *, left: bool = False) -> int:
        """Give this window's place for areas never saved, held from now on."""
        from loopwright.io.autosave import claim_place

        if path is not None or self._state is None:
            return 1
        if self._place is None:
            try:
                self._place = claim_place(self._state, left=left)
            except WorldError:  # told when the work itself cannot be kept
                return 1
        return self._place[0]

    def _not_kept(self, error: BaseException) -> None:
        """Say that nothing was kept; the next turn tries again."""
        self._kept = None
        self._desk.failed(error)

    def _settle(self, path: Path | None, _answer: None) -> None:
        """Drop what was kept too late: the area was saved or left while it was being written."""
        workspace = self._desk.workspace
        if workspace.path != path or not workspace.dirty:
            self.drop(path)

    def drop(self, path: Path | None) -> None:
        """Drop the autosave of an area: it is saved, or left on purpose."""
        from loopwright.io.autosave import discard_autosave

        self._kept = None
        if self._state is None or (path is None and self._place is None):
            return
        try:
            discard_autosave(path, self._state, place=self._claim(path))
        except WorldError as error:
            self._desk.warn(str(error))

    def found(self, path: Path | None) -> Path | None:
        """Give the autosave of an area that differs from the area, if there is one.

        None asks for an area never saved: this window's own, or one that a crash left behind.
        """
        from loopwright.io.autosave import find_recoverable

        if self._state is None:
            return None
        return find_recoverable(path, self._state, place=self._claim(path, left=True))

    def offer(self, path: Path | None) -> Document | None:
        """Offer unsaved work of an area after a crash; None if there is none or it is refused.

        The newer of the two comes first: the area may have been saved since, by a command or from
        another machine.
        """
        from loopwright.io.area_file import load_area
        from loopwright.io.autosave import saved_since

        kept = self.found(path)
        if kept is None:
            return None
        words = say("The program ended before this area was saved. Which one do you want?")
        both = [say("The unsaved work"), say("The area as saved")]
        if path is None:
            words = say("The program ended before a new area was saved. Bring it back?")
            both[1] = say("Leave it")
        if since := path is not None and saved_since(kept, path):
            words = say(
                "Work was kept when the program ended, but the area was saved after that. "
                "Which one do you want?"
            )
            both.reverse()
        choice = self._files.window.dialogs.pick(say("Unsaved work was kept"), words, both)
        return load_area(kept) if choice == int(since) else None

    def close(self) -> None:
        """Stop keeping, and leave the place for areas never saved to other windows."""
        self._timer.stop()
        if self._place is not None:
            self._place[1].release()
            self._place = None


def _keep(document: Document, path: Path | None, state: Path, place: int, report: Report) -> None:
    from loopwright.io.autosave import save_autosave

    report.check()
    save_autosave(document, path, state, place=place)
