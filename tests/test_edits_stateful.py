"""All edits, undo, redo, saving, loading, crashes and two windows, in any order.

The model is plain: for each window a list of documents as bytes before and after the one in hand;
for the disk what each file holds. The real desk, files, safekeeping and jobs do the work.
"""
# ruff: noqa: FBT001 - rules take what is drawn

from __future__ import annotations

import tempfile
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import ClassVar
from unittest.mock import patch

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from edits_help import EDITS, START, found
from edits_windows import Shell
from io_help import gpx_text, point
from loopwright import edits
from loopwright.app import files
from loopwright.app.dialogs import Leave
from loopwright.app.screen import ensure_widgets
from loopwright.errors import WorldError
from loopwright.io.area_file import AreaLock, area_bytes
from loopwright.io.autosave import autosave_path
from loopwright.model.document import Document
from loopwright.workspace import changed_fields

WINDOWS = st.integers(0, 1)
NUMBERS = st.integers(0, 11)
AREAS = st.integers(0, 2)
WHERE = st.integers(0, 3)
"""A file to save to; 3 gives up."""
LEAVING = st.sampled_from(list(Leave))
NAMED = st.sampled_from(sorted(EDITS))
EMPTY = area_bytes(Document(name="New area"))


@dataclass
class Model:
    """What one window should hold: documents as bytes, ``bare`` ones without what notes change."""

    now: bytes = EMPTY
    past: list[bytes] = field(default_factory=list)
    future: list[bytes] = field(default_factory=list)
    saved: bytes = EMPTY
    path: Path | None = None
    place: int | None = None
    """Its place for an area never saved."""

    def put(self, now: bytes, path: Path | None, bare: bytes) -> None:
        """Start afresh."""
        self.now, self.saved, self.path = now, bare, path
        self.past, self.future = [], []


def bare(document: Document) -> bytes:
    """The document without what notes change."""
    return area_bytes(replace(document, found=()))


class Machine(RuleBasedStateMachine):
    """Two windows on three areas and one state folder."""

    steps: ClassVar[Counter[str]] = Counter()

    def __init__(self) -> None:
        super().__init__()
        ensure_widgets()
        self._folder = tempfile.TemporaryDirectory()
        self.home = Path(self._folder.name)
        self.paths = [self.home / f"{name}.loopwright" for name in "abc"]
        self.gpx = self.home / "ride.gpx"
        self.gpx.write_text(gpx_text([point(46.5, 13.2), point(46.501, 13.2)]))
        sample = files._Opened(document=START, path=None)
        self._patch = patch.object(files, "_sample", lambda _report: sample)
        self._patch.start()
        self.disk: dict[Path, bytes] = {}
        self.kept: dict[Path | int, bytes] = {}
        self.shells = [Shell(self.home), Shell(self.home)]
        self.models = [Model(), Model()]

    @initialize()
    def start(self) -> None:
        for w in (0, 1):
            self._start(w, None, recover=False)

    def teardown(self) -> None:
        for shell in self.shells:
            shell.vanish()
        self._patch.stop()
        self._folder.cleanup()

    # -- one window ------------------------------------------------------------------------------

    @rule(w=WINDOWS, several=st.lists(st.tuples(NAMED, NUMBERS), min_size=1, max_size=6))
    def edit(self, w: int, several: list[tuple[str, int]]) -> None:
        for name, n in several:
            self._edit(w, name, n)

    @rule(w=WINDOWS, name=NAMED, numbers=st.lists(NUMBERS, min_size=1, max_size=4))
    def edit_again(self, w: int, name: str, numbers: list[int]) -> None:
        for n in numbers:
            self._edit(w, name, n)

    def _edit(self, w: int, name: str, n: int) -> None:
        self.steps[name] += 1
        shell, model, one = self.shells[w], self.models[w], EDITS[name]
        before = shell.desk.document
        shell.desk.apply(name, lambda document: one.make(document, n))
        after = shell.desk.document
        assert changed_fields(before, after) <= one.touches
        assert area_bytes(before) == model.now
        if area_bytes(after) == model.now:
            assert after is before, f"{name} made a step that changes nothing"
        if after is not before:
            model.past.append(model.now)
            model.now, model.future = area_bytes(after), []
            assert shell.desk.workspace.undo_label == name

    @rule(w=WINDOWS, n=NUMBERS)
    def search_ends(self, w: int, n: int) -> None:
        self.steps["search ends"] += 1
        desk, model = self.shells[w].desk, self.models[w]
        dirty = desk.workspace.dirty
        desk.workspace.note(lambda document: edits.set_found(document, found(n)))
        assert desk.workspace.dirty is dirty
        model.now = area_bytes(desk.document)

    @rule(w=WINDOWS, times=st.integers(1, 6))
    def undo(self, w: int, times: int) -> None:
        self.steps["undo"] += 1
        model = self.models[w]
        for _ in range(times):
            said = self.shells[w].desk.workspace.undo()
            assert (said is None) is (not model.past)
            if model.past:
                model.future.append(model.now)
                model.now = model.past.pop()

    @rule(w=WINDOWS, times=st.integers(1, 6))
    def redo(self, w: int, times: int) -> None:
        self.steps["redo"] += 1
        model = self.models[w]
        for _ in range(times):
            said = self.shells[w].desk.workspace.redo()
            assert (said is None) is (not model.future)
            if model.future:
                model.past.append(model.now)
                model.now = model.future.pop()

    @rule(w=WINDOWS, leave_at_once=st.booleans())
    def import_a_file(self, w: int, leave_at_once: bool) -> None:
        self.steps["import a file"] += 1
        shell, model = self.shells[w], self.models[w]
        shell.files.import_paths([self.gpx])
        if leave_at_once:
            self.new(w, Leave.DROP, 3)
            return
        shell.settle()
        after = area_bytes(shell.desk.document)
        if after != model.now:
            model.past.append(model.now)
            model.now, model.future = after, []
        assert any(ride.track.source == self.gpx.name for ride in shell.desk.document.rides)

    # -- files -----------------------------------------------------------------------------------

    @rule(
        w=WINDOWS, where=WHERE, other=st.booleans(), meanwhile=st.none() | NAMED,
        twice=st.booleans(),
    )  # fmt: skip
    def save(self, w: int, where: int, other: bool, meanwhile: str | None, twice: bool) -> None:
        self.steps["save"] += 1
        shell, model = self.shells[w], self.models[w]
        target = self._target(w, where, asks=other or model.path is None)
        document, held = shell.desk.document, model.now
        for _ in range(1 + twice):
            (shell.files.save_as if other else shell.files.save)()
        if meanwhile is not None:
            self._edit(w, meanwhile, where)
        shell.settle()
        self._expect_saved(w, target, held, bare(document))

    def _target(self, w: int, where: int, *, asks: bool) -> Path | None:
        """Say where the dialog saves to; None where it gives up."""
        target = self.paths[where] if where < len(self.paths) else None
        self.shells[w].dialogs.target = target
        return target if asks else self.models[w].path

    def _expect_saved(self, w: int, target: Path | None, held: bytes, without: bytes) -> bool:
        model = self.models[w]
        if target is None:
            return False
        if self.models[1 - w].path == target:
            assert any("another" in words for words in self.shells[w].troubles)
            return False
        before, model.path, model.saved = model.path, target, without
        self.disk[target] = held
        for key in (before if before is not None else model.place, target):
            self.kept.pop(key, None) if key is not None else None
        return True

    @rule(w=WINDOWS, leaving=LEAVING, where=WHERE)
    def new(self, w: int, leaving: Leave, where: int) -> None:
        self.steps["new"] += 1
        may = self._leave(w, leaving, where, self.shells[w].files.new)
        if may:
            self.models[w].put(EMPTY, None, EMPTY)

    def _leave(self, w: int, leaving: Leave, where: int, act: Callable[[], object]) -> bool:
        """Do what leaves the area, and say whether it should have been left."""
        shell, model = self.shells[w], self.models[w]
        dirty, held, without = shell.desk.workspace.dirty, model.now, bare(shell.desk.document)
        target = self._target(w, where, asks=model.path is None)
        shell.dialogs.leaving, shell.dialogs.asked = leaving, 0
        act()
        shell.settle()
        assert shell.dialogs.asked == int(dirty)
        if not dirty:
            return True
        if leaving is Leave.DROP:
            key = model.path if model.path is not None else model.place
            self.kept.pop(key, None) if key is not None else None
        if leaving is Leave.SAVE:
            return self._expect_saved(w, target, held, without)
        return leaving is Leave.DROP

    @rule(w=WINDOWS, n=AREAS, leaving=LEAVING, where=WHERE, recover=st.booleans())
    def open(self, w: int, n: int, leaving: Leave, where: int, recover: bool) -> None:
        self.steps["open"] += 1
        shell, path = self.shells[w], self.paths[n]
        shell.dialogs.recover, shell.dialogs.offered = recover, 0
        held = self.models[1 - w].path == path
        if self._leave(w, leaving, where, lambda: shell.files.open(path)):
            self._expect_opened(w, path, recover=recover, held=held)

    def _expect_opened(self, w: int, path: Path, *, recover: bool, held: bool) -> None:
        shell, model = self.shells[w], self.models[w]
        if path not in self.disk or held:
            assert shell.desk.trouble
            return
        assert shell.desk.workspace.path == path
        back = shell.desk.workspace._saved
        model.put(self.disk[path], path, bare(back))
        kept = self.kept.get(path)
        self._expect_offered(w, None if kept == self.disk[path] else kept, recover=recover)

    def _expect_offered(self, w: int, kept: bytes | None, *, recover: bool) -> None:
        model = self.models[w]
        assert self.shells[w].dialogs.offered == int(kept is not None)
        if kept is not None and recover:
            model.past.append(model.now)
            model.now = kept

    @rule(w=WINDOWS, then=st.sampled_from(["wait", "save"]), where=AREAS)
    def keep_aside(self, w: int, then: str, where: int) -> None:
        self.steps["keep aside"] += 1
        shell, model = self.shells[w], self.models[w]
        if shell.desk.workspace.dirty:
            self.kept[self._key(w)] = model.now
        shell.files.safe.keep()
        if then == "save":
            self.save(w, where, other=False, meanwhile=None, twice=False)
        shell.settle()

    def _key(self, w: int) -> Path | int:
        """Where the window keeps its work aside; a place is taken when it is first needed."""
        model = self.models[w]
        if model.path is not None:
            return model.path
        if model.place is None:
            model.place = self._free_place(left=False)
        return model.place

    def _free_place(self, *, left: bool) -> int:
        others = {model.place for model in self.models}
        places = [n for n in range(1, 60) if n not in others]
        return min(places, key=lambda n: ((n in self.kept) is not left, n))

    # -- endings ---------------------------------------------------------------------------------

    @rule(w=WINDOWS, saving=st.none() | WHERE, next_=WHERE, recover=st.booleans())
    def crash(self, w: int, saving: int | None, next_: int, recover: bool) -> None:
        """End without a word, perhaps once a save has ended on disk; then start again."""
        self.steps["crash"] += 1
        shell, model = self.shells[w], self.models[w]
        if saving is not None:
            target = self._target(w, saving, asks=model.path is None)
            shell.files.save()
            shell.end_untold("save")
            if target is not None and self.models[1 - w].path != target:
                self.disk[target] = model.now
        self._start(w, self.paths[next_] if next_ < len(self.paths) else None, recover=recover)

    @rule(w=WINDOWS, leaving=LEAVING, where=WHERE, next_=WHERE)
    def close(self, w: int, leaving: Leave, where: int, next_: int) -> None:
        self.steps["close"] += 1
        shell = self.shells[w]
        if self._leave(w, leaving, where, shell.files.may_leave):
            self._start(w, self.paths[next_] if next_ < len(self.paths) else None, recover=False)

    def _start(self, w: int, path: Path | None, *, recover: bool) -> None:
        """Start a window in place of one that ended, on what a start would open."""
        self.shells[w].vanish()
        shell, model = Shell(self.home), Model()
        self.shells[w], self.models[w] = shell, model
        shell.dialogs.recover = recover
        shell.files.begin(path)
        shell.settle()
        model.place = self._free_place(left=True)
        kept = self.kept.get(model.place)
        taken = kept is not None and recover
        offered = int(kept is not None)
        assert shell.dialogs.offered >= offered
        if taken:
            self._expect_offered(w, kept, recover=True)
            return
        shell.dialogs.offered -= offered
        held = self.models[1 - w].path == path
        if path is not None:
            self._expect_opened(w, path, recover=recover, held=held)
        else:
            model.put(area_bytes(START), None, area_bytes(START))

    # -- what always holds -----------------------------------------------------------------------

    @precondition(lambda self: self.steps)
    @invariant()
    def as_the_model_says(self) -> None:
        for shell, model in zip(self.shells, self.models, strict=True):
            workspace = shell.desk.workspace
            assert area_bytes(workspace.document) == model.now
            assert workspace.path == model.path
            assert (workspace.undo_label is None) is (not model.past)
            assert (workspace.redo_label is None) is (not model.future)
            if not workspace.dirty:
                assert bare(workspace.document) == model.saved
            shell.troubles.clear()

    @invariant()
    def nothing_lost_on_disk(self) -> None:
        for path in self.paths:
            assert (path.read_bytes() if path.exists() else None) == self.disk.get(path)
        for key, held in self.kept.items():
            where = key if isinstance(key, Path) else None
            place = key if isinstance(key, int) else 1
            path = autosave_path(where, self.home / "state", place=place)
            assert path.read_bytes() == held
        assert len(list((self.home / "state").rglob("*.loopwright"))) == len(self.kept)
        assert not list(self.home.rglob("*.part"))

    @invariant()
    def each_area_is_held_by_the_window_it_is_in(self) -> None:
        in_hand = [model.path for model in self.models if model.path is not None]
        assert len(in_hand) == len(set(in_hand))
        for path in self.paths:
            assert _held(path) is (path in in_hand)


def _held(path: Path) -> bool:
    lock = AreaLock(path)
    try:
        lock.acquire()
    except WorldError:
        return True
    lock.release()
    return False


def test_any_order_of_steps_loses_nothing() -> None:
    run_state_machine_as_test(Machine, settings=settings(max_examples=25, stateful_step_count=40))
