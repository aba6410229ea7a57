"""The Laps place: laps of a ride on the loop in view, against the targets.

Gets a desk; gives lap and split tables, bars and the map of where time went. Promises: says what is
missing first (a loop, a ride), shows incomplete laps as incomplete.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from PySide6.QtWidgets import QComboBox

from loopwright import edits
from loopwright.app.bars import Bars
from loopwright.app.desk import Desk
from loopwright.app.lap_rows import (
    bars_of,
    lap_row,
    stretched,
    summary,
)
from loopwright.app.laps_beside import BesideFold
from loopwright.app.laps_fitting import best_fitting
from loopwright.app.laps_folds import ClimbsFold, CornersFold, SectionsFold
from loopwright.app.laps_ground import CoveredFold
from loopwright.app.laps_reading import LapsRead
from loopwright.app.look import Look
from loopwright.app.parts import Choice, Column, Fold, button, label
from loopwright.app.rides_list import ride_title
from loopwright.app.tables import Table
from loopwright.app.words import capital, say
from loopwright.model.laps import Lap
from loopwright.model.loops import SavedLoop
from loopwright.model.track import Ride


class LapsPlace(Column):
    """The left column after the ride."""

    def __init__(self, desk: Desk, look: Look, do: Callable[[str], None]) -> None:
        super().__init__(say("Laps"))
        self.desk, self.look, self._do = desk, look, do

    def build(self) -> Iterator[None]:
        """Put in what stands here, piece by piece."""
        desk, look, do = self.desk, self.look, self._do
        self.loops, self.rides = Choice(), Choice()
        self.said = label("", "soft")
        self.laps = Table(
            say("Laps"), [say("Lap"), say("Time"), say("Target"), say("Moving")], left=(), wide=1
        )
        self.note = label("", "soft")
        self.bars = Bars(look)
        yield
        self.sections, self.corners = SectionsFold(look), CornersFold(look)
        yield
        self.climbs, self.beside = ClimbsFold(look), BesideFold(desk, look)
        yield
        self.covered = CoveredFold(desk, look, do)
        self._more = (self.sections, self.corners, self.climbs, self.beside, self.covered)
        self._filled: tuple[LapsRead | None, Look | None] = (None, None)
        yield
        yield from self._lay_out()
        yield
        self._connect()
        self.refresh()

    def _lay_out(self) -> Iterator[None]:
        ride = Fold(say("Which loop, which ride"))
        self.loops.setAccessibleName(say("Loop"))
        self.rides.setAccessibleName(say("Ride"))
        ride.add(self.loops, self.rides)
        ride.add(button(say("Read another recording…"), lambda: self._do("read_laps")))
        self.circuit = button(
            say("Keep the circuit this ride repeats"), lambda: self._do("keep_circuit")
        )
        ride.add(self.circuit)
        self.add(ride)
        yield
        self.laps_fold = Fold(say("Laps"))
        self.laps_fold.add(self.said, self.laps, self.note)
        self.add(self.laps_fold)
        self.bars_fold = Fold(say("Where the time went"))
        hint = say("Seconds against the target. Pale: less than the receiver can tell.")
        self.bars_fold.add(label(hint, "faint"), self.bars)
        self.add(self.bars_fold)
        for fold in self._more:
            yield
            self.add(fold)
        self.close_up()

    def _connect(self) -> None:
        desk = self.desk
        desk.document_changed.connect(desk.turns.in_view_first(self, self.refresh))
        soon = desk.turns.of(self.refresh)
        desk.candidates_changed.connect(soon)
        desk.shown_changed.connect(soon)
        desk.shown_changed.connect(self._loop_changed)
        desk.ridden.sheet_changed.connect(desk.turns.of(self._show_sheet))
        self.loops.activated.connect(self._loop_picked)
        self.rides.activated.connect(lambda _place: self.arrive())
        self.laps.currentCellChanged.connect(lambda *_cells: self._show_lap())

    # -- choosing ----------------------------------------------------------------------------

    def _all_loops(self) -> list[SavedLoop]:
        desk = self.desk
        return [*desk.document.kept, *(c.loop for c in desk.candidates)]

    def _all_rides(self) -> list[Ride]:
        return list(reversed(self.desk.document.rides))

    def refresh(self) -> None:
        """Show the loops and rides there are."""
        now = self.rides.currentIndex()
        names = [capital(loop.name) for loop in self._all_loops()]
        _fill(self.loops, names or [say("No loop yet")])
        loops = self._all_loops()
        if self.desk.shown in loops:
            self.loops.setCurrentIndex(loops.index(self.desk.shown))
        rides = [ride_title(ride) for ride in self._all_rides()]
        _fill(self.rides, rides or [say("No ride yet")])
        self.rides.setCurrentIndex(min(max(0, now), max(0, len(rides) - 1)))
        self.loops.setEnabled(bool(names))
        self.rides.setEnabled(bool(rides))
        self._show_sheet()

    def _loop_picked(self, place: int) -> None:
        loops = self._all_loops()
        if place < len(loops):
            self.desk.show_loop(loops[place])

    def _loop_changed(self) -> None:
        if self.desk.place == "laps":
            self.read()

    def ride(self) -> Ride | None:
        """Give the ride chosen."""
        rides = self._all_rides()
        place = self.rides.currentIndex()
        return rides[place] if 0 <= place < len(rides) else None

    def choose(self, ride: Ride) -> None:
        """Choose a ride by what it is and read its laps."""
        names = [one.id for one in self._all_rides()]
        if ride.id in names:
            self.rides.setCurrentIndex(names.index(ride.id))
            self.arrive()

    def arrive(self) -> None:
        """Find the laps of the ride chosen, on the loop it was ridden on."""
        ride, desk = self.ride(), self.desk
        frame = desk.terrain.network.origin if desk.terrain is not None else None
        loops, shown = self._all_loops(), desk.shown
        if ride is None:
            return

        def work(_report: object) -> SavedLoop | None:
            return best_fitting(ride.track, loops, shown, frame=frame)

        desk.jobs.start("laps", work, on_done=self._fitted, on_failed=desk.failed)

    def _fitted(self, best: SavedLoop | None) -> None:
        if best is None or best is self.desk.shown:
            self.read()
        else:
            self.desk.show_loop(best)

    def read(self) -> None:
        """Find the laps of the chosen ride."""
        ride = self.ride()
        if ride is not None and self.desk.course is not None:
            self.desk.ridden.read(ride)

    def keep_circuit(self) -> None:
        """Keep the circuit of the chosen ride as a loop."""
        ride = self.ride()
        if ride is not None:
            self.desk.ridden.find_circuit(ride, self._circuit_found)

    def _circuit_found(self, loop: SavedLoop | None) -> None:
        if loop is None:
            self.desk.warn(say("This ride repeats no circuit"))
            return
        self.desk.apply(say("Keep a ridden circuit"), lambda d: edits.keep_loop(d, loop, loop.name))
        self.desk.show_loop(next(k for k in self.desk.document.kept if k.name == loop.name))

    # -- showing -----------------------------------------------------------------------------

    def _show_sheet(self) -> None:
        sheet = self.desk.ridden.sheet
        self.bars_fold.setVisible(sheet is not None and bool(sheet.laps))
        self.desk.turns.go_through(self._show_more(self.desk.ridden.found), key=self._more)
        self.laps.setVisible(sheet is not None and bool(sheet.laps))
        self.circuit.setEnabled(self.ride() is not None)
        if sheet is None:
            self.said.setText(self._missing())
            return
        plan = self.desk.plan
        target = plan.lap_time_s if plan else None
        self.laps.show_rows([lap_row(lap, target) for lap in sheet.laps])
        self.said.setText(summary(sheet))
        if sheet.laps and self.laps.currentRow() < 0:
            whole = [lap.complete for lap in sheet.laps]
            self.laps.selectRow(whole.index(True) if any(whole) else 0)
        self._show_lap()

    def _show_more(self, read: LapsRead | None) -> Iterator[None]:
        """Fill the folds; those that follow from the ride alone only if it is another one."""
        if self._filled[0] is not read or self._filled[1] is not self.look:
            self._filled = (None, None)
            for fold in (self.sections, self.corners, self.climbs):
                fold.show_read(read)
                yield
            self._filled = (read, self.look)
        for other in (self.beside, self.covered):
            other.show_read(read)
            yield

    def _missing(self) -> str:
        desk = self.desk
        if not desk.document.rides:
            return say("Import a ride first, then choose the loop it was ridden on.")
        if desk.course is None:
            return say("Choose a loop: find one in Loops, or keep the circuit of a ride.")
        if desk.jobs.busy("laps"):
            return say("Looking for laps…")
        return say("Choose a ride to see its laps.")

    def lap(self) -> Lap | None:
        """Give the lap chosen."""
        sheet, place = self.desk.ridden.sheet, self.laps.currentRow()
        return sheet.laps[place] if sheet and 0 <= place < len(sheet.laps) else None

    def _show_lap(self) -> None:
        lap = self.lap()
        if lap is None:
            self.desk.ridden.show((), None)
            return
        self.note.setText(say("Lap {n}: {note}", n=lap.number, note=lap.note) if lap.note else "")
        self.note.setVisible(bool(lap.note))
        self.bars.show_bars(bars_of(lap))
        self.desk.ridden.show(stretched(lap), lap)

    def dress(self, look: Look) -> None:
        """Take another look."""
        self.look = self.bars.look = look
        for fold in self._more:
            fold.look = look
        self.refresh()


def _fill(box: QComboBox, words: list[str]) -> None:
    if [box.itemText(i) for i in range(box.count())] == words:
        return
    blocked = box.blockSignals(True)  # noqa: FBT003 - Qt's own setter
    box.clear()
    box.addItems(words)
    box.blockSignals(blocked)
