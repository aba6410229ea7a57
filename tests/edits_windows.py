"""Two windows without widgets: the real desk, files, safekeeping and jobs, on one folder."""
# ruff: noqa: ARG002 - the answering dialogs take what the protocol gives

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, cast

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QMenu

from app_help import MIX, Answers
from loopwright.app.desk import Desk
from loopwright.app.files import Files
from loopwright.app.remembered import Remembered
from loopwright.errors import NoAnswerError
from loopwright.jobs import run_here
from loopwright.model.document import Document
from loopwright.workspace import Workspace

if TYPE_CHECKING:
    from loopwright.app.rooms import Rooms
    from loopwright.app.window import Window
    from loopwright.model.ground import Terrain
    from loopwright.pipeline import Pipeline


class NoRooms:
    """Rooms in which nothing is ever built: edits alone are looked at."""

    def terrain(self, document: Document, report: object = None) -> Terrain:
        """Build nothing."""
        raise NoAnswerError(document.name, "no usable track", "import rides")


@dataclass
class Choices(Answers):
    """Dialogs that take or refuse unsaved work by its words, and note that it was offered."""

    recover: bool = False
    offered: int = 0
    asked: int = 0

    def pick(self, title: str, words: str, among: Sequence[str]) -> int | None:
        self.offered += 1
        work = among.index("The unsaved work")
        return work if self.recover else 1 - work

    def leave(self, name: str):  # type: ignore[no-untyped-def]  # noqa: ANN201 - as its base
        self.asked += 1
        return self.leaving


class Shell(QObject):
    """What Files needs of a window, without one."""

    def __init__(self, home: Path) -> None:
        super().__init__()
        self.dialogs = Choices()
        self.recent_menu = QMenu()
        rooms = NoRooms()
        workspace = Workspace(Document(name="New area"))
        self.desk = Desk(workspace, cast("Rooms", rooms), run_here, first_mix=lambda: MIX)
        self.troubles: list[str] = []
        self.desk.told.connect(self._hear)
        record = Remembered(state=home / "state")
        self.files = Files(cast("Window", self), cast("Pipeline", rooms), record)

    def _hear(self) -> None:
        if self.desk.trouble:
            self.troubles.append(self.desk.trouble)

    def settle(self) -> None:
        """Let all jobs end and be told."""
        jobs = self.desk.jobs
        while jobs.busy():
            jobs.poll()
            time.sleep(0.0002)

    def end_untold(self, kind: str) -> None:
        """Let the job of a kind end in its thread, but tell nobody."""
        while any(j.kind == kind and j.ticket.ending is None for j in self.desk.jobs._live):
            time.sleep(0.0002)

    def vanish(self) -> None:
        """End as a crash ends: nothing is told or dropped, the system gives the locks back."""
        self.desk.close()
        self.files.close()
        self.recent_menu.deleteLater()
        self.deleteLater()
