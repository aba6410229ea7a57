"""The Ground place: rides, the brush, corrections, what no longer fits, what to tag next.

Gets a desk; gives tags and corrections. Promises: whatever a person decided is listed here, also
when it no longer finds its place; every change is one named step.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime
from functools import partial

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QListWidgetItem, QStackedWidget

from loopwright import edits
from loopwright.app.brush import Brush, difference
from loopwright.app.brush_panel import BrushPanel
from loopwright.app.desk import Desk
from loopwright.app.ground_next import LookNext
from loopwright.app.ground_unridden import Unridden
from loopwright.app.look import Look
from loopwright.app.map_tools import Part
from loopwright.app.parts import Column, Fold, button, label, row
from loopwright.app.plain_text import tip
from loopwright.app.rides_list import all_faults, by_ride, ride_state, ride_title
from loopwright.app.tag_ride import TagRide
from loopwright.app.tagging import paint, whole_parts
from loopwright.app.unfit import Unfit
from loopwright.app.word_list import WordList
from loopwright.app.words import count, say
from loopwright.app.wrapping import WrapCheck
from loopwright.card.words import date_words
from loopwright.model.ids import RideId
from loopwright.model.track import CleanTrack, Ride, RideRole

RIDES_SHOWN = 5


class GroundPlace(QStackedWidget):
    """The left column while looking after the ground."""

    cleaned = Signal(object)

    def __init__(self, desk: Desk, look: Look, do: Callable[[str], None]) -> None:
        super().__init__()
        self.desk, self.look, self._do = desk, look, do
        self.tracks: tuple[CleanTrack, ...] = ()
        self._awaited: Ride | None = None
        self.today: Callable[[], date] = lambda: datetime.now(UTC).date()

    def build(self) -> Iterator[None]:
        """Put in what stands here, piece by piece."""
        desk, look, do = self.desk, self.look, self._do
        self.rides = WordList(say("Rides"), shown=RIDES_SHOWN)
        self.brush = BrushPanel()
        self.painting = WrapCheck(say("Paint on the map (key B)"))
        self.chosen = label("", "soft")
        self.dated = WrapCheck(say("Only true of today (mud, dust)"))
        self.planned = label("", "soft")
        self.unfit = Unfit(desk)
        yield
        self.next = LookNext(desk, look)
        yield
        self.unridden = Unridden(desk, look, do)
        self.tag_ride = TagRide(desk, look, self._leave_ride)
        yield
        yield from self._lay_out()
        self.addWidget(self.tag_ride)
        self._connect()
        yield
        self.refresh()

    def _lay_out(self) -> Iterator[None]:
        self.column = column = Column(say("Ground"))
        self.addWidget(column)
        self.rides_fold = Fold(say("Rides"))
        self.out = button(say("Leave out"), self._turn_hidden)
        self.race = button(say("Race lap"), self._turn_race)
        self.away = button(say("Remove"), self._remove)
        self.rides_fold.add(self.rides)
        self.rides_fold.lines.addLayout(row(self.out, self.race, self.away))
        self.rides_fold.add(button(say("Import rides…"), lambda: self._do("import")))
        column.add(self.rides_fold)
        yield
        self.tag = tag = Fold(say("Say what the ground is"))
        self.after = button(say("Tag after a ride…"), lambda: self._do("tag_ride"), main=True)
        tag.add(self.after, self.chosen, self.brush, self.painting, self.dated, self.planned)
        tag.add(button(say("Choose what to tag next"), lambda: self._do("next_untagged")))
        column.add(tag)
        yield
        column.add(self.next, self.unridden, self.unfit)
        column.close_up()
        yield

    def _connect(self) -> None:
        desk = self.desk
        desk.document_changed.connect(desk.turns.in_view_first(self, self.refresh))
        desk.terrain_changed.connect(self._clean)
        desk.selection_changed.connect(self._show_chosen)
        self.rides.currentRowChanged.connect(lambda _row: self._show_buttons())
        self.brush.changed.connect(self._brushed)

    # -- rides -------------------------------------------------------------------------------

    def _clean(self) -> None:
        """Ask for the report of each ride, once the network stands."""
        document = self.desk.document
        self._show_chosen()
        if self.desk.terrain is None:
            self.tracks, self._awaited = (), None
            self.refresh()
            return
        self.desk.jobs.start(
            "clean",
            lambda report: self.desk.rooms.reports(document, report),
            on_done=self._cleaned,
            on_failed=self.desk.failed,
            at_leisure=not self.isVisible(),
        )

    def showEvent(self, event: QShowEvent) -> None:
        """Wait no longer for the reports."""
        super().showEvent(event)
        self.desk.jobs.hurry("clean")

    def _cleaned(self, tracks: tuple[CleanTrack, ...]) -> None:
        if tracks is not self.tracks:  # after a change of ground they are the same
            self.tracks = tracks
            self.cleaned.emit(tracks)
            self.refresh()
        ride, self._awaited = self._awaited, None
        if ride is not None:
            self.begin_ride(ride)

    def refresh(self) -> None:
        """Show the document's rides, newest first."""
        rides = self.desk.document.rides
        clean = by_ride(self.tracks)
        now = self._ride()
        blocked = self.rides.blockSignals(True)  # noqa: FBT003 - Qt's own setter
        self.rides.clear()
        for ride in reversed(rides):
            item = QListWidgetItem(f"{ride_title(ride)}\n{ride_state(ride, clean.get(ride.id))}")
            item.setData(Qt.ItemDataRole.UserRole, ride.id)
            if ride.id in clean:
                item.setToolTip(tip(all_faults(clean[ride.id])))
            self.rides.addItem(item)
            if now is not None and ride.id == now.id:
                self.rides.setCurrentItem(item)
        self.rides.blockSignals(blocked)
        self.rides_fold.rename(count(len(rides), "1 ride", "{n} rides"))
        self.rides.fit_height()
        for part in (self.rides, self.out, self.race, self.away, self.tag):
            part.setVisible(bool(rides))
        self.after.setEnabled(self.desk.terrain is not None)
        self._show_planned()
        for fold in (self.unfit, self.next, self.unridden):
            fold.refresh()
        self._show_buttons()
        self._show_chosen()

    def _show_planned(self) -> None:
        """Say which state the map shows: later words would seem to be lost."""
        on = self.desk.document.settings.plan_for
        self.planned.setVisible(on is not None)
        if on is not None:
            self.planned.setText(
                say("Shown is the ground as on {day}, chosen in Loops: what is said of later days "
                    "does not count there.", day=date_words(on))
            )  # fmt: skip

    def _ride(self) -> Ride | None:
        item = self.rides.currentItem()
        name: RideId | None = item.data(Qt.ItemDataRole.UserRole) if item else None
        return next((r for r in self.desk.document.rides if r.id == name), None)

    def _show_buttons(self) -> None:
        ride = self._ride()
        for push in (self.out, self.race, self.away):
            push.setEnabled(ride is not None)
        hidden = ride is not None and ride.hidden
        raced = ride is not None and ride.role is RideRole.RACE
        self.out.setText(say("Take in") if hidden else say("Leave out"))
        self.race.setText(say("Use as ride") if raced else say("Race lap"))

    def _turn_hidden(self) -> None:
        ride = self._ride()
        if ride is not None:
            words = say("Take a ride in") if ride.hidden else say("Leave a ride out")
            self.desk.apply(words, lambda d: edits.hide_ride(d, ride.id, hidden=not ride.hidden))

    def _turn_race(self) -> None:
        ride = self._ride()
        if ride is not None:
            role = RideRole.RIDE if ride.role is RideRole.RACE else RideRole.RACE
            self.desk.apply(
                say("Change what a ride is for"), lambda d: edits.set_role(d, ride.id, role)
            )

    def _remove(self) -> None:
        ride = self._ride()
        if ride is not None:
            self.desk.apply(say("Remove a ride"), lambda d: edits.remove_ride(d, ride.id))

    # -- the brush ---------------------------------------------------------------------------

    @property
    def on(self) -> date | None:
        """Day to date tags with."""
        return self.today() if self.dated.isChecked() else None

    def _show_chosen(self) -> None:
        number = len(self.desk.selection)
        words = (
            count(number, "1 stretch chosen: press a key to tag it.",
                  "{n} stretches chosen: press a key to tag them.")
            if number
            else say("Choose stretches on the map (shift adds, shift and drag circles), then press "
                     "a key. Or take the brush and paint.")
        )  # fmt: skip
        self.chosen.setText(words)

    def _brushed(self, before: Brush, after: Brush) -> None:
        terrain = self.desk.terrain
        if terrain is not None and self.desk.selection and not self.painting.isChecked():
            parts = whole_parts(terrain, self.desk.selection)
            paint(self.desk, parts, difference(before, after), on=self.on)
            self.brush.clear()

    def painted(self, parts: tuple[Part, ...]) -> None:
        """Paint parts of stretches with the brush in hand."""
        if self.brush.brush.empty:
            self.desk.warn(say("The brush is empty: press a number or letter first"))
        else:
            paint(self.desk, parts, self.brush.brush, on=self.on)

    def press(self, word: str) -> bool:
        """Take a letter or digit from the map or the column."""
        if self.currentWidget() is self.tag_ride:
            return self.tag_ride.press(word)
        if word == "B":
            self.painting.toggle()
            return True
        return self.brush.press(word)

    # -- after a ride ------------------------------------------------------------------------

    def begin_ride(self, ride: Ride) -> None:
        """Go through a ride stretch by stretch, once the rides have been looked through."""
        track = by_ride(self.tracks).get(ride.id)
        if track is None and self.desk.jobs.busy("clean"):
            self._awaited = ride
            self.desk.jobs.hurry("clean")
            return
        if track is None or not track.used or self.desk.terrain is None:
            self.desk.warn(say("This ride cannot be replayed: nothing usable in it"))
            return
        self.setCurrentWidget(self.tag_ride)
        self.tag_ride.begin(ride_title(ride), track, on=self.on)

    def _leave_ride(self) -> None:
        self.setCurrentWidget(self.column)

    def dress(self, look: Look) -> None:
        """Take another look."""
        self.look = self.next.look = self.unridden.look = self.tag_ride.look = look
        self.refresh()


def ride_picker(place: GroundPlace, pick: Callable[[list[str]], int | None]) -> None:
    """Ask which ride to go through; the newest is first."""
    rides = [r for r in reversed(place.desk.document.rides) if r.role is RideRole.RIDE]
    choice = pick([ride_title(ride) for ride in rides])
    if choice is not None:
        partial(place.begin_ride, rides[choice])()
