"""What the window knows: the workspace and everything derived from it.

Gets changes of the document, gives signals naming what is new. Promises: no widgets here; derived
values belong to the document they were made from, late answers are dropped; views read the desk
and ask it for changes, and never speak to each other.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from PySide6.QtCore import QObject, Signal

from loopwright import edits
from loopwright.app.asked import Asked
from loopwright.app.away import search_here
from loopwright.app.facts import Facts
from loopwright.app.jobs import OF_ONE_AREA, InTurn, Jobs
from loopwright.app.ridden import Ridden
from loopwright.app.rooms import Rooms, asked_of
from loopwright.app.turns import Turns
from loopwright.app.with_lines import Answer, WithLines
from loopwright.app.words import say
from loopwright.errors import LoopwrightError
from loopwright.jobs import Report, Runner, run_here
from loopwright.model.course import Course
from loopwright.model.document import Document
from loopwright.model.ground import Terrain
from loopwright.model.ids import StretchId
from loopwright.model.loops import FoundLoop, SavedLoop, SearchResult
from loopwright.model.network import Stretch
from loopwright.model.rider import LapPlan
from loopwright.model.wishes import Mix, Wishes
from loopwright.workspace import Workspace

GROUND_FIELDS = frozenset({"rides", "tags", "corrections", "origin", "settings"})
SEARCH_FIELDS = frozenset({"wishes"})
PLAN_FIELDS = frozenset({"rider"})


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Candidate:
    """A loop on offer: its line and, if it comes from the last search, its numbers."""

    loop: SavedLoop
    found: FoundLoop | None = None


class Desk(QObject):
    """One open area and all that follows from it."""

    document_changed = Signal(object)
    terrain_changed = Signal()
    candidates_changed = Signal()
    shown_changed = Signal()
    plan_changed = Signal()
    selection_changed = Signal()
    pointed = Signal(object)
    told = Signal()

    def __init__(
        self,
        workspace: Workspace,
        rooms: Rooms,
        away: Runner,
        *,
        aside: Runner = run_here,
        first_mix: Callable[[], Mix],
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self.workspace = workspace
        self.rooms = rooms
        self.jobs = Jobs(self)
        self.turns = Turns(self)
        self.terrain: Terrain | None = None
        self.result: SearchResult | None = None
        self.candidates: tuple[Candidate, ...] = ()
        self.shown: SavedLoop | None = None
        self.course: Course | None = None
        self.plan: LapPlan | None = None
        self.selection: tuple[StretchId, ...] = ()
        self.place = "loops"
        self.note = ""
        self.trouble = self._trouble_of = ""
        self.away, self.aside = away, aside  # what takes long and nothing waits for goes aside
        self._first_mix = first_mix
        self._plans = InTurn()
        self._picked = False
        self._results: list[tuple[Terrain, Wishes, SearchResult, tuple[SavedLoop, ...]]] = []
        self.ridden = Ridden(self)
        self.asked = Asked(self)
        self.facts = Facts(self)
        self._unsubscribe = workspace.subscribe(self._changed)

    @property
    def document(self) -> Document:
        """The current document."""
        return self.workspace.document

    @property
    def wishes(self) -> Wishes:
        """What is asked of a loop: the document's wishes, or a first mix until there are any."""
        return self.document.wishes or Wishes(mix=self._first_mix())

    def is_kept(self, loop: SavedLoop | None) -> bool:
        """Tell whether a loop is one of those kept in the area."""
        return any(kept is loop for kept in self.document.kept)

    def begin(self) -> None:
        """Build whatever the open document asks for."""
        self._changed(GROUND_FIELDS | {"name", "kept", "season"})

    def close(self) -> bool:
        """Stop listening and end all jobs; True if they came to rest in time."""
        self._unsubscribe()
        self.turns.close()
        return self.jobs.close()

    @property
    def at_rest(self) -> bool:
        """Tell whether no job is under way and no piece of the window's own work waits."""
        return not self.jobs.busy() and not self.turns.waiting

    # -- telling ---------------------------------------------------------------------------

    def tell(self, words: str) -> None:
        """Say something good or neutral along the bottom."""
        self.note, self.trouble = words, ""
        self.told.emit()

    def warn(self, words: str, *, of: str = "") -> None:
        """Say what went wrong along the bottom; ``of`` names the job whose success ends it."""
        self.note, self.trouble, self._trouble_of = "", words, of
        self.told.emit()

    def calm(self) -> None:
        """Stop saying what was said once; what is still wrong stays."""
        self.note = ""
        if not self._trouble_of:
            self.trouble = ""

    def failed(self, error: BaseException, *, of: str = "") -> None:
        """Tell a failed job's error: the world's in its own words, ours as a fault of ours."""
        if isinstance(error, LoopwrightError):
            self.warn(str(error), of=of)
        else:
            self.warn(say("Something in the program went wrong: {what}", what=repr(error)), of=of)

    def _went_well(self, job: str) -> None:
        """Take back the trouble a job told of before it succeeded."""
        if self._trouble_of == job:
            self.trouble = self._trouble_of = ""

    # -- changes ---------------------------------------------------------------------------

    def apply(self, label: str, edit: Callable[[Document], Document]) -> None:
        """Change the document by one named step."""
        self.workspace.apply(label, edit)

    def _changed(self, names: frozenset[str]) -> None:
        self.document_changed.emit(names)
        if names & GROUND_FIELDS:
            self.rebuild()
        elif names & SEARCH_FIELDS:
            self.search()
        elif names & PLAN_FIELDS:
            self._replan()

    def open(self, document: Document, path: Any) -> None:
        """Put another document on the desk."""
        self._clear()
        self.workspace.open(document, path)

    def _clear(self) -> None:
        for kind in OF_ONE_AREA:
            self.jobs.drop(kind)
        self.result, self.candidates, self._picked = None, (), False
        self.note = self.trouble = self._trouble_of = ""
        self.select(())
        self.show_loop(None)
        self._set_terrain(None)

    # -- ground ----------------------------------------------------------------------------

    def rebuild(self) -> None:
        """Build the network anew for the current document."""
        document = self.document
        if not document.rides and not document.corrections:
            self._set_terrain(None)
            return
        self.jobs.start(
            "build",
            lambda report: (document, self.rooms.terrain(document, report)),
            on_done=self._built,
            on_failed=self._build_failed,
        )
        self.told.emit()

    def _built(self, answer: tuple[Document, Terrain]) -> None:
        document, terrain = answer
        now = self.document
        if any(getattr(document, f) is not getattr(now, f) for f in GROUND_FIELDS):
            return
        self._went_well("build")
        self._set_terrain(terrain)
        self.turns.soon(self._go_on_from_ground)

    def _go_on_from_ground(self) -> None:
        self.search()
        if self.shown is not None and self.terrain is not None:
            self._unroll(self.shown)

    def _build_failed(self, error: BaseException) -> None:
        self._set_terrain(None)
        self.failed(error, of="build")

    def _set_terrain(self, terrain: Terrain | None) -> None:
        before, self.terrain = self.terrain, terrain
        if terrain is None or before is None or terrain.network is not before.network:
            self.select(())
        if terrain is None:
            self.jobs.drop("search")
            self.result, self.candidates = None, ()
            self.candidates_changed.emit()
        self.terrain_changed.emit()
        self.told.emit()

    def stretch(self, name: StretchId) -> Stretch | None:
        """Find a stretch of today's network by id."""
        if self.terrain is None:
            return None
        return next((s for s in self.terrain.network.stretches if s.id == name), None)

    def select(self, stretches: Sequence[StretchId]) -> None:
        """Choose stretches on the map."""
        if tuple(stretches) != self.selection:
            self.selection = tuple(stretches)
            self.selection_changed.emit()

    def point(self, lap_m: float | None) -> None:
        """Point at a place on the lap shown, or at none."""
        self.pointed.emit(lap_m)

    # -- search ----------------------------------------------------------------------------

    def search(self) -> None:
        """Search for loops under the current wishes; a finished answer is remembered."""
        if self.terrain is None:
            return
        terrain, wishes = self.terrain, self.wishes
        for held_terrain, held_wishes, result, loops in self._results:
            if held_terrain is terrain and held_wishes == wishes:
                self.jobs.drop("search")
                self._found(result, loops, finished=True)
                return
        self._start_search(self.document, wishes)

    def search_again(self) -> None:
        """Search afresh, even if an answer is remembered."""
        self._results = []
        self.search()

    def _start_search(self, document: Document, wishes: Wishes) -> None:
        def work(report: Report) -> Answer:
            asked = asked_of(self.rooms, document, wishes, report)
            told = WithLines(report, self.rooms, asked[0], wishes)
            return told.lined(self.away(search_here, asked, told))

        terrain = self.terrain
        self.jobs.start(
            "search",
            work,
            on_done=lambda answer: self._searched(terrain, wishes, *answer),
            on_best=lambda answer: self._found(*answer, finished=False),
            on_failed=self._search_failed,
            on_cancelled=self.told.emit,
        )
        self.told.emit()

    def _searched(
        self,
        terrain: Terrain | None,
        wishes: Wishes,
        result: SearchResult,
        loops: tuple[SavedLoop, ...],
    ) -> None:
        if terrain is None or terrain is not self.terrain:
            return
        loops = self._as_before(loops)
        self._results = [*self._results[-5:], (terrain, wishes, result, loops)]
        self._found(result, loops, finished=True)

    def _search_failed(self, error: BaseException) -> None:
        self.result, self.candidates = None, ()
        self.candidates_changed.emit()
        if self.shown is not None and self.shown.rank is not None:
            self.show_loop(None)
        self.failed(error, of="search")

    def _as_before(self, loops: tuple[SavedLoop, ...]) -> tuple[SavedLoop, ...]:
        """Keep a loop that is already on offer, and with it its course, plan and numbers."""
        held = tuple(c.loop for c in self.candidates)
        return tuple(next((h for h in held if h.equals(loop)), loop) for loop in loops)

    def _found(self, result: SearchResult, loops: tuple[SavedLoop, ...], *, finished: bool) -> None:
        self.result = result
        loops = self._as_before(loops)
        self._went_well("search")
        self.candidates = tuple(
            Candidate(loop=loop, found=found)
            for loop, found in zip(loops, result.loops, strict=True)
        )
        if finished and result.loops:
            self.workspace.note(lambda document: edits.set_found(document, loops))
        self.candidates_changed.emit()
        self._follow_best()
        self.told.emit()

    def _follow_best(self) -> None:
        """Keep showing what was picked; else show the best there is."""
        if self.shown is not None and self.shown.rank is None:
            return
        if not self.candidates:
            self.show_loop(None)
            return
        rank = self.shown.rank if self._picked and self.shown else 1
        match = next((c for c in self.candidates if c.loop.rank == rank), self.candidates[0])
        self._picked = self._picked and match.loop.rank == rank
        self._show(match.loop)

    # -- the loop shown --------------------------------------------------------------------

    def show_loop(self, loop: SavedLoop | None) -> None:
        """Show a loop on map and profile, because a person picked it; None shows no loop."""
        self._picked = loop is not None
        self._show(loop)

    def _show(self, loop: SavedLoop | None) -> None:
        coming = self.course is not None or self.jobs.busy("course")
        if loop is self.shown and (loop is None or coming):
            return
        self.shown = loop
        self.course = self.plan = None
        if loop is None:
            for kind in ("course", "plan"):
                self.jobs.drop(kind)
            self.shown_changed.emit()
            self.plan_changed.emit()
        else:
            self._unroll(loop)

    def _unroll(self, loop: SavedLoop) -> None:
        document = self.document
        self.jobs.start(
            "course",
            lambda report: self.rooms.course(document, loop, report),
            on_done=lambda course: self._unrolled(loop, course),
            on_failed=lambda error: self._not_unrolled(loop, error),
            on_cancelled=lambda: self._unroll(loop),  # who stops a search still looks at it
        )

    def _unrolled(self, loop: SavedLoop, course: Course) -> None:
        if loop is self.shown:
            self.course = course
            self.shown_changed.emit()
            self._replan()

    def _not_unrolled(self, loop: SavedLoop, error: BaseException) -> None:
        if loop is self.shown:
            self.course = self.plan = None
            self.shown_changed.emit()
            self.plan_changed.emit()
            self.failed(error)

    def _replan(self) -> None:
        course, document = self.course, self.document
        if course is None:
            return

        def work(report: Report) -> LapPlan:
            # The rider's fit is costly and shared: two plans at once would both work it out.
            with self._plans.turn(report):
                return self.rooms.plan(document, course)

        self.jobs.start(
            "plan",
            work,
            on_done=lambda plan: self._planned(course, plan),
            on_failed=lambda error: self.failed(error, of="plan"),
        )

    def _planned(self, course: Course, plan: LapPlan) -> None:
        self._went_well("plan")
        if course is self.course:
            self.plan = plan
            self.plan_changed.emit()
            self.told.emit()
