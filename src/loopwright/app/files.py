"""Opening, importing, saving and exporting, off the window's thread.

Gets a window; does what its file actions ask. Promises: a bad file gives one clear sentence and
the window lives on; what is on disk is replaced whole or not at all; unsaved work is asked about.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from loopwright.app.dialogs import AREA_FILES, RIDE_FILES, Leave
from loopwright.app.remembered import Remembered
from loopwright.app.safekeeping import Safekeeping
from loopwright.app.window import Window
from loopwright.app.words import count, say
from loopwright.errors import WorldError
from loopwright.jobs import Report
from loopwright.model.document import Document
from loopwright.model.track import Ride, RideRole
from loopwright.reading import Reading, read_rides, take_in

if TYPE_CHECKING:
    from loopwright.io.area_file import AreaLock
    from loopwright.pipeline import Pipeline

SUFFIX = ".loopwright"


@dataclass(frozen=True, kw_only=True, eq=False)
class _Opened:
    document: Document
    path: Path | None


class Files:
    """File actions of one window."""

    def __init__(self, window: Window, rooms: Pipeline, remembered: Remembered) -> None:
        self.window, self.desk, self.rooms = window, window.desk, rooms
        self.remembered = remembered
        self.safe = Safekeeping(self, remembered.state)
        self._lock: AreaLock | None = None
        window.take = self.take  # type: ignore[method-assign]  # the window leaves files to us
        window.before_close = self.may_leave
        window.recent_menu.aboutToShow.connect(self._list_recent)

    def doings(self) -> dict[str, Callable[[], object]]:
        """Say what the file actions do."""
        return {
            "new": self.new,
            "open": self.ask_open,
            "sample": self.open_sample,
            "save": self.save,
            "save_as": self.save_as,
            "import": self.ask_import,
            "import_folder": self.ask_folder,
        }

    def close(self) -> None:
        """Give the area free for other windows."""
        self.safe.close()
        self._release()

    def _release(self) -> None:
        if self._lock is not None:
            self._lock.release()
            self._lock = None

    # -- in ----------------------------------------------------------------------------------

    def take(self, paths: Sequence[Path]) -> None:
        """Open a dropped area; import anything else."""
        areas = [path for path in paths if path.suffix == SUFFIX]
        if areas:
            self.open(areas[0])
        else:
            self.import_paths(list(paths))

    def new(self) -> None:
        """Start an empty area."""
        if self.may_leave():
            self._release()
            self.desk.open(Document(name=say("New area")), None)

    def ask_open(self) -> None:
        """Ask which area to open."""
        path = self.window.dialogs.open_file(say("Open an area"), AREA_FILES)
        if path is not None:
            self.open(path)

    def _list_recent(self) -> None:
        menu = self.window.recent_menu
        menu.clear()
        for path in self.remembered.recent():
            menu.addAction(path.stem, partial(self.open, path)).setToolTip(str(path))
        if menu.isEmpty():
            menu.addAction(say("None yet")).setEnabled(False)

    def open(self, path: Path) -> None:
        """Open an area file."""
        if self.may_leave():
            self.desk.jobs.start(
                "open", partial(_load, path), on_done=self._opened, on_failed=self.desk.failed
            )

    def open_sample(self) -> None:
        """Open the invented sample area."""
        if self.may_leave():
            self.desk.jobs.start("open", _sample, on_done=self._opened, on_failed=self.desk.failed)

    def _opened(self, opened: _Opened) -> None:
        from loopwright.io.area_file import AreaLock

        lock = AreaLock(opened.path) if opened.path else None
        try:
            if lock is not None and opened.path != self.desk.workspace.path:
                lock.acquire()
        except WorldError as error:
            self.desk.warn(str(error))
            return
        self._release()
        self._lock = lock
        self.desk.open(opened.document, opened.path)
        kept = self.safe.offer(opened.path)
        if kept is not None:
            self.desk.apply(say("Bring unsaved work back"), lambda _document: kept)
        if opened.path is not None:
            self.remembered.opened(opened.path)

    def ask_import(self) -> None:
        """Ask for recordings."""
        paths = self.window.dialogs.open_files(say("Import rides"), RIDE_FILES)
        if paths:
            self.import_paths(paths)

    def ask_folder(self) -> None:
        """Ask for a folder of recordings."""
        path = self.window.dialogs.open_folder(say("Import a folder of rides"))
        if path is not None:
            self.import_paths([path])

    def import_paths(
        self,
        paths: Sequence[Path],
        role: RideRole = RideRole.RIDE,
        then: Callable[[tuple[Ride, ...]], None] | None = None,
    ) -> None:
        """Read recordings and add what can be read."""
        self.desk.jobs.start(
            "import",
            lambda report: read_rides(paths, role, report),
            on_done=lambda reading: self._imported(reading, then),
            on_failed=self.desk.failed,
            on_cancelled=lambda: self.desk.tell(say("Import stopped, nothing was added")),
        )

    def _imported(self, reading: Reading, then: Callable[[tuple[Ride, ...]], None] | None) -> None:
        desk = self.desk
        before = len(desk.document.rides)
        after, far = take_in(desk.document, reading.rides)
        if reading.rides:
            label = count(len(reading.rides), "Import a ride", "Import {n} rides")
            desk.apply(label, lambda _document: after)
        if then is not None:
            then(reading.rides)
        fresh = len(desk.document.rides) - before
        words = count(fresh, "Added 1 ride", "Added {n} rides")
        if reading.rides and not fresh:
            words = say("These rides are already here")
        if far:
            away = count(
                len(far),
                "1 lies too far away: start a new area for it",
                "{n} lie too far away: start a new area for them",
            )
            desk.warn(f"{words}. {away}")
        elif reading.complaints:
            first = reading.complaints[0]
            rest = len(reading.complaints) - 1
            more = count(rest, " (and 1 more)", " (and {n} more)") if rest else ""
            desk.warn(f"{first}{more}" if not fresh else f"{words}. {first}{more}")
        elif reading.rides:
            desk.tell(words)
        else:
            desk.warn(say("No recordings (GPX or FIT) in there"))

    # -- out ---------------------------------------------------------------------------------

    def save(self) -> None:
        """Save where the area came from, or ask where."""
        path = self.desk.workspace.path
        if path is None:
            self.save_as()
        else:
            self._save(path)

    def save_as(self) -> None:
        """Ask where to save."""
        name = f"{self.desk.document.name}{SUFFIX}"
        path = self.window.dialogs.save_file(say("Save the area"), name, AREA_FILES)
        if path is not None:
            self._save(path if path.suffix == SUFFIX else path.with_name(path.name + SUFFIX))

    def _save(self, path: Path) -> None:
        document = self.desk.document
        self.desk.jobs.start(
            "save",
            partial(_store, document, path),
            on_done=lambda _answer: self._saved(document, path),
            on_failed=self.desk.failed,
        )

    def _saved(self, document: Document, path: Path) -> None:
        self.desk.workspace.mark_saved(document, path)
        self.remembered.opened(path)
        self.safe.drop(path)
        self.desk.tell(say("Saved as {name}", name=path.name))

    def may_leave(self) -> bool:
        """Ask about unsaved work; True when the area may be left."""
        workspace = self.desk.workspace
        if not workspace.dirty or not workspace.document.rides:
            return True
        answer = self.window.dialogs.leave(workspace.document.name)
        if answer is Leave.SAVE:
            return self._save_now()
        if answer is Leave.DROP:
            self.safe.drop(workspace.path)
        return answer is Leave.DROP

    def _save_now(self) -> bool:
        """Save before leaving: the one place that waits, because the window goes away."""
        path = self.desk.workspace.path or self.window.dialogs.save_file(
            say("Save the area"), f"{self.desk.document.name}{SUFFIX}", AREA_FILES
        )
        if path is None:
            return False
        try:
            _store(self.desk.document, path, None)
        except WorldError as error:
            self.desk.warn(str(error))
            return False
        self.desk.workspace.mark_saved(self.desk.document, path)
        return True


def _load(path: Path, report: Report) -> _Opened:
    from loopwright.io.area_file import load_area

    report.step(0.0, path.name)
    return _Opened(document=load_area(path), path=path)


def _sample(report: Report) -> _Opened:
    from loopwright.sample import sample_document

    report.step(0.0, say("the invented sample area"))
    return _Opened(document=sample_document(), path=None)


def _store(document: Document, path: Path, report: Report | None) -> None:
    from loopwright.io.area_file import save_area

    if report is not None:
        report.step(0.0, path.name)
    save_area(document, path)
