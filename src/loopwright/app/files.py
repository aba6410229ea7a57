"""Opening, importing, saving and exporting, off the window's thread.

Gets a window; does what its file actions ask. Promises: a bad file gives one clear sentence and
the window lives on; what is on disk is replaced whole or not at all; unsaved work is asked about.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from loopwright.app.dialogs import AREA_FILES, RIDE_FILES, Leave
from loopwright.app.plain_text import tip
from loopwright.app.remembered import Remembered
from loopwright.app.safekeeping import Safekeeping
from loopwright.app.splitting import split_off
from loopwright.app.window import Window
from loopwright.app.words import count, say
from loopwright.errors import WorldError
from loopwright.jobs import Report
from loopwright.model.document import Document
from loopwright.model.track import Ride, RideRole
from loopwright.reading import Reading, Taken, read_rides, take_in
from loopwright.workspace import NOTED, changed_fields

if TYPE_CHECKING:
    from loopwright.io.area_file import AreaLock
    from loopwright.pipeline import Pipeline

SUFFIX = ".loopwright"
SAVE_WAIT_S = 20.0
"""So long leaving an area waits for a save under way; the largest area takes a few seconds."""


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
        self._next: AreaLock | None = None
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
        self._hold(None)

    def _lock_of(self, path: Path) -> AreaLock:
        """Give the lock of an area, the same while this window has to do with it."""
        from loopwright.io.area_file import AreaLock

        for lock in (self._lock, self._next):
            if lock is not None and lock.is_for(path):
                return lock
        self._leave_next()
        self._next = AreaLock(path)
        return self._next

    def _leave_next(self) -> None:
        """Give the area free that was to be opened or saved to."""
        if self._next is not None:
            self._next.release()
            self._next = None

    def _hold(self, lock: AreaLock | None) -> None:
        """Hold the area now in hand and give the one before free."""
        if self._next is lock:
            self._next = None
        self._leave_next()
        if self._lock is not None and self._lock is not lock:
            self._lock.release()
        self._lock = lock

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
            self._hold(None)
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
            menu.addAction(path.stem, partial(self.open, path)).setToolTip(tip(str(path)))
        if menu.isEmpty():
            menu.addAction(say("None yet")).setEnabled(False)

    def begin(self, path: Path | None) -> None:
        """Open what a start opens: a new area that a crash left, else the area, else the sample."""
        kept = self.safe.offer(None)
        if kept is not None:
            self._bring_back(kept)
        elif path is not None:
            self.open(path)
        else:
            self.open_sample()

    def open(self, path: Path) -> None:
        """Open an area file, held from before it is read until it is left."""
        if self.may_leave():
            self._start_open(partial(_load, self._lock_of(path)))

    def open_sample(self) -> None:
        """Open the invented sample area."""
        if self.may_leave():
            self._start_open(_sample)

    def _start_open(self, work: Callable[[Report], _Opened]) -> None:
        self.desk.jobs.start(
            "open", work, on_done=partial(self._opened, self.desk.document),
            on_failed=self._refused, on_cancelled=self._leave_next,
        )  # fmt: skip

    def _opened(self, left: Document, opened: _Opened) -> None:
        if changed_fields(left, self.desk.document) - NOTED:  # an edit came in meanwhile: ask
            self._leave_next()
            self.open(opened.path) if opened.path else self.open_sample()
            return
        self._hold(self._lock_of(opened.path) if opened.path else None)
        self.desk.open(opened.document, opened.path)
        if opened.path is None:
            return
        kept = self.safe.offer(opened.path)
        if kept is not None:
            self._bring_back(kept)
        self.remembered.opened(opened.path)

    def _bring_back(self, kept: Document) -> None:
        self.desk.apply(say("Bring unsaved work back"), lambda _document: kept)

    def _refused(self, error: BaseException) -> None:
        self._leave_next()
        self.desk.failed(error)

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
        document = self.desk.document

        def work(report: Report) -> tuple[Reading, Taken]:
            reading = read_rides(paths, role, report)
            return reading, take_in(document, reading.rides)

        self.desk.jobs.start(
            "import",
            work,
            on_done=lambda answer: self._imported(document, answer, then),
            on_failed=self.desk.failed,
            on_cancelled=lambda: self.desk.tell(say("Import stopped, nothing was added")),
        )

    def _imported(
        self,
        document: Document,
        answer: tuple[Reading, Taken],
        then: Callable[[tuple[Ride, ...]], None] | None,
    ) -> None:
        desk, (reading, taken) = self.desk, answer
        before = len(desk.document.rides)
        changed = desk.document is not document  # edited while files were read
        after, far = take_in(desk.document, reading.rides) if changed else taken
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
            split_off(self, far, words)
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
        path = self.desk.workspace.path or self._ask_where()
        if path is not None:
            self._save(path)

    def save_as(self) -> None:
        """Ask where to save."""
        path = self._ask_where()
        if path is not None:
            self._save(path)

    def _ask_where(self) -> Path | None:
        return self.ask_where(self.desk.document)

    def ask_where(self, document: Document) -> Path | None:
        """Ask where to save an area."""
        name = f"{document.name}{SUFFIX}"
        path = self.window.dialogs.save_file(say("Save the area"), name, AREA_FILES)
        if path is None or path.suffix == SUFFIX:
            return path
        return path.with_name(path.name + SUFFIX)

    def _save(self, path: Path) -> None:
        if self.desk.jobs.busy("open") or not self._saves_ended():
            self.desk.warn(say("Another file is still being read or written: save again"))
            return
        document, lock = self.desk.document, self._lock_of(path)
        self.desk.jobs.start(
            "save", partial(_store, document, lock),
            on_done=lambda _answer: self._saved(document, lock),
            on_failed=self._refused, on_cancelled=self._leave_next,
        )  # fmt: skip

    def _saved(self, document: Document, lock: AreaLock) -> None:
        before, path = self.desk.workspace.path, lock.path
        self._hold(lock)
        self.desk.workspace.mark_saved(document, path)
        self.remembered.opened(path)
        for area in {before, path}:
            self.safe.drop(area)
        self.desk.tell(say("Saved as {name}", name=path.name))

    def _saves_ended(self) -> bool:
        """Wait for a save under way, so that its answer reaches the area it belongs to."""
        until = time.monotonic() + SAVE_WAIT_S
        while self.desk.jobs.busy("save"):
            if time.monotonic() > until:
                return False
            time.sleep(0.005)
            self.desk.jobs.poll()
        return True

    def may_leave(self) -> bool:
        """Ask about unsaved work; True when the area may be left."""
        if not self._saves_ended():
            self.desk.warn(say("The area is still being saved: wait until that has ended"))
            return False
        workspace = self.desk.workspace
        if not workspace.dirty:
            return True
        answer = self.window.dialogs.leave(workspace.document.name)
        if answer is Leave.SAVE:
            return self._save_now()
        if answer is Leave.DROP:
            self.safe.drop(workspace.path)
        return answer is Leave.DROP

    def _save_now(self) -> bool:
        """Save before leaving: waits, because the window goes away."""
        path = self.desk.workspace.path or self._ask_where()
        if path is None:
            return False
        document, lock = self.desk.document, self._lock_of(path)
        try:
            _store(document, lock, None)
        except WorldError as error:
            self._refused(error)
            return False
        self._saved(document, lock)
        return True


def _load(lock: AreaLock, report: Report) -> _Opened:
    from loopwright.io.area_file import load_area

    report.step(0.0, lock.path.name)
    if lock.path.exists():
        lock.acquire()
    return _Opened(document=load_area(lock.path), path=lock.path)


def _sample(report: Report) -> _Opened:
    from loopwright.sample import sample_document

    report.step(0.0, say("the invented sample area"))
    return _Opened(document=sample_document(), path=None)


def _store(document: Document, lock: AreaLock, report: Report | None) -> None:
    from loopwright.io.area_file import save_area

    if report is not None:
        report.step(0.0, lock.path.name)
    lock.acquire()
    save_area(document, lock.path)
