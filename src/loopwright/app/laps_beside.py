"""Two rides side by side on the loop in view, out of all rides of the area that rode it.

Gets a desk; reads the other rides in a job once the fold is open. Promises: both sheets of a
comparison were read together, on the same course; a difference no larger than its standard error
is grey and says unclear.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from loopwright import units
from loopwright.app.desk import Desk
from loopwright.app.laps_folds import grey_rows
from loopwright.app.laps_reading import LapsRead, read_all
from loopwright.app.laps_words import comparison_words, difference_row, difference_tip
from loopwright.app.look import Look
from loopwright.app.parts import Fold, label
from loopwright.app.plain_text import tip
from loopwright.app.rides_list import ride_day, ride_title
from loopwright.app.tables import Table
from loopwright.app.words import say
from loopwright.model.document import Document
from loopwright.model.ids import RideId
from loopwright.model.laps import LapSheet
from loopwright.model.loops import SavedLoop
from loopwright.model.track import Ride

if TYPE_CHECKING:
    from loopwright.laps.compare import Comparison

JOB = "beside"


class BesideFold(Fold):
    """All rides round the loop, and this one beside another."""

    def __init__(self, desk: Desk, look: Look) -> None:
        super().__init__(say("Beside another ride"), open_=False)
        self.desk, self.look = desk, look
        self.read: LapsRead | None = None
        self.sheets: Mapping[RideId, LapSheet] = {}
        self._of: tuple[Document, SavedLoop | None] | None = None
        self._rides: list[Ride] = []
        self.said, self.found = label("", "faint"), label("", "soft")
        self.rides = Table(
            say("Rides round this loop"), [say("Ride"), say("Laps"), say("Best"), say("Median")]
        )
        self.splits = Table(
            say("Sections of two rides"),
            [say("Section"), say("Other"), say("This"), say("Differs")],
        )
        self.add(self.said, self.rides, self.found, self.splits)
        self.head.toggled.connect(lambda _on: self._gather())
        self.rides.currentCellChanged.connect(lambda *_cells: self._compare())

    def show_read(self, read: LapsRead | None) -> None:
        """Set a ride beside the others."""
        self.read = read
        self.setVisible(read is not None and read.sheet.best_s is not None)
        self._gather()

    def _gather(self) -> None:
        """Read all rides on the loop in view, unless that was done or nobody looks."""
        if self.read is None or self.isHidden():
            self.desk.jobs.drop(JOB)
            return
        of = (self.desk.document, self.desk.shown)
        if self._of is not None and self._same(of):
            self._show()
        elif self.head.isChecked() and of[1] is not None:
            self._start(*of)

    def _same(self, of: tuple[Document, SavedLoop | None]) -> bool:
        """Tell whether what was gathered still holds: the same rides, ground and loop."""
        if self._of is None or of[1] is not self._of[1]:
            return False
        fields = ("rides", "tags", "corrections", "origin", "settings")
        return all(getattr(of[0], f) is getattr(self._of[0], f) for f in fields)

    def _start(self, document: Document, loop: SavedLoop | None) -> None:
        if loop is None:
            return
        self.sheets, self._of = {}, None
        self._say(say("Looking which rides went round this loop…"))
        desk = self.desk

        def done(sheets: tuple[LapSheet, ...]) -> None:
            if desk.shown is loop:
                self.sheets = {sheet.ride: sheet for sheet in sheets}
                self._of = (document, loop)
                self._gather()

        def failed(error: BaseException) -> None:
            self._say("")
            desk.failed(error)

        desk.jobs.start(
            JOB, lambda report: read_all(desk.rooms, document, loop, report),
            on_done=done, on_failed=failed,
            on_cancelled=lambda: self._say(say("Stopped. Close and open this to look again.")),
        )  # fmt: skip

    def _say(self, words: str) -> None:
        """Show words alone."""
        self.said.setText(words)
        for part in (self.rides, self.found, self.splits):
            part.setVisible(False)

    def _show(self) -> None:
        this = self.read.sheet.ride if self.read else None
        rides = [r for r in self.desk.document.rides if r.id in self.sheets]
        others = [r for r in reversed(rides) if r.id != this]
        self._rides = [*(r for r in rides if r.id == this), *others]
        if not others:
            self._say(say("No other ride of this area has a complete lap of this loop."))
            return
        self.said.setText(say("Choose the ride to set this one beside."))
        self.rides.setVisible(True)
        self.rides.show_rows([self._ride_row(ride, this) for ride in self._rides])
        for number, ride in enumerate(self._rides):
            item = self.rides.item(number, 0)
            if item is not None:
                item.setToolTip(tip(ride_title(ride)))
        if self.rides.currentRow() < 1:
            self.rides.selectRow(len(self._rides) - len(others))
        self._compare()

    def _ride_row(self, ride: Ride, this: RideId | None) -> list[str]:
        sheet = self.sheets[ride.id]
        return [
            say("{day}, this ride", day=ride_day(ride)) if ride.id == this else ride_day(ride),
            str(sum(lap.complete for lap in sheet.laps)),
            *(units.UNKNOWN if s is None else units.duration(s, tenths=True)
              for s in (sheet.best_s, sheet.median_s)),
        ]  # fmt: skip

    def comparison(self) -> Comparison | None:
        """Compare the ride chosen with this one; None for this one itself or none chosen."""
        place = self.rides.currentRow()
        this = self.sheets.get(self.read.sheet.ride) if self.read else None
        if this is None or not 0 <= place < len(self._rides):
            return None
        other = self._rides[place].id
        if other == this.ride:
            return None
        from loopwright.laps import compare

        return compare(self.sheets[other], this)

    def _compare(self) -> None:
        found = self.comparison()
        self.found.setVisible(found is not None)
        self.splits.setVisible(found is not None and bool(found.splits))
        if found is None:
            return
        self.found.setText(
            comparison_words(found) + " "
            + say("Below, medians: minus is faster in this ride; grey, unclear: no more than the "
                  "standard error.")
        )  # fmt: skip
        self.splits.show_rows([difference_row(one) for one in found.splits])
        grey_rows(self.splits, [one.clear for one in found.splits], self.look)
        for number, one in enumerate(found.splits):
            item = self.splits.item(number, 3)
            if item is not None:
                item.setToolTip(tip(difference_tip(one)))
