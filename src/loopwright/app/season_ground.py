"""The ground ledger: time on each ground this season against what race day may bring.

Gets a desk; shows shares and gaps, and takes the ground of race day by hand, as metres or feet of
one lap. Promises: time is compared with time; what is not tagged, and rides that carry no times,
are told apart, never guessed; adding up never holds the window.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date

from PySide6.QtCore import QDate
from PySide6.QtWidgets import QDateEdit, QSpinBox

from loopwright import edits, units
from loopwright.app.desk import Desk
from loopwright.app.kinds import surface_words
from loopwright.app.look import Look
from loopwright.app.parts import Choice, Fold, button, label, row
from loopwright.app.tables import Table
from loopwright.app.told import told
from loopwright.app.words import count, say
from loopwright.jobs import Report
from loopwright.model.ground import SURFACES
from loopwright.model.season import GroundMet, SeasonPlan
from loopwright.season import Ledger, added_up, ground_ledger
from loopwright.season.ledger import UNKNOWN
from loopwright.units import FOOT_M, Units

MOST_M = 30000
STEP = {Units.METRIC: 50, Units.IMPERIAL: 200}


class GroundFold(Fold):
    """The ledger, with a way to say what race day brings."""

    def __init__(self, desk: Desk, look: Look, do: Callable[[str], None]) -> None:
        super().__init__(say("Ground this season"), open_=False)
        self._desk, self.look = desk, look
        self.met = GroundMet()
        self._met_of: tuple[object, ...] = ()
        self.table = Table(
            say("Time on each ground, met and expected"),
            [say("Ground"), say("Ridden"), say("Share"), say("Race day")],
        )
        self.gaps, self.untagged = label("", "soft"), label("", "faint")
        self.since = QDateEdit()
        self.since.setCalendarPopup(True)
        self.since.setDisplayFormat("d MMM yyyy")
        self.since.setAccessibleName(say("Count rides from"))
        self.surface, self.length = Choice(), QSpinBox()
        self.surface.setAccessibleName(say("Ground of race day"))
        for surface in SURFACES:
            if surface != UNKNOWN:
                self.surface.addItem(surface_words(surface), surface)
        self.length.setAccessibleName(say("Length of it in a race lap"))
        self.enter = button(say("Set"), self._enter, name=say("Set the ground of race day"))
        self.measure = button(say("Measure a race lap…"), lambda: do("race_ground"))
        self.offer = button(say("Find a loop over every surface"), lambda: do("every_surface"))
        self._lay_out()
        self.surface.currentIndexChanged.connect(lambda _at: self._show_length())
        self.since.editingFinished.connect(self._count_from)

    def _lay_out(self) -> None:
        self.add(label(say("Riding time on each ground this season, against race day."), "faint"))
        self.lines.addLayout(row(label(say("Count rides from")), self.since, stretch=0))
        self.add(self.table, self.gaps, self.untagged, self.offer)
        self.asks = Fold(say("What race day may bring"))
        words = say("Length of each ground in one race lap; your own speed there makes it time.")
        self.asks.add(label(words, "faint"))
        self.asks.lines.addLayout(row(self.surface, self.length, self.enter, stretch=0))
        self.asks.add(self.measure)
        self.add(self.asks)

    def dress(self, look: Look) -> None:
        """Take another look: other units, perhaps."""
        self.look = look
        self.refresh()

    # -- showing -----------------------------------------------------------------------------

    def refresh(self) -> None:
        """Show the ledger of the document and the terrain; what is ridden is added up in a job."""
        plan, terrain = self._desk.document.season, self._desk.terrain
        races = plan.wishes.races if plan else ()
        self._add_up(plan)
        ledger = ground_ledger(self.met, added_up(race.ground_m for race in races))
        self.table.show_rows(_rows(ledger))
        self.table.setVisible(bool(ledger.lines))
        self.gaps.setText(gap_words(ledger))
        self.untagged.setText(left_out_words(ledger, self.met))
        self.untagged.setVisible(bool(self.untagged.text()))
        self.offer.setEnabled(terrain is not None)
        self.setVisible(plan is not None)
        self._show_length()
        if plan is not None:
            since = season_days(plan)[0]
            self.since.setDate(QDate(since.year, since.month, since.day))

    def _add_up(self, plan: SeasonPlan | None) -> None:
        """Ask for the ground met, once for the same rides, ground and days."""
        desk, document = self._desk, self._desk.document
        if plan is None or desk.terrain is None:
            self.met, self._met_of = GroundMet(), ()
            return
        days = season_days(plan)
        of = (desk.terrain, document.rides, *days)
        if of == self._met_of:
            return
        self._met_of, rooms = of, desk.rooms

        def work(report: Report) -> GroundMet:
            return rooms.ground_met(document, *days, report)

        desk.jobs.start("ground met", work, on_done=self._added_up, on_failed=self._not_added)

    def _added_up(self, met: GroundMet) -> None:
        self.met = met
        self.refresh()

    def _not_added(self, error: BaseException) -> None:
        self._met_of = ()
        self._desk.failed(error)

    def _show_length(self) -> None:
        look = self.look.units
        metres = dict(self._race_ground()).get(str(self.surface.currentData()), 0.0)
        unit_m = FOOT_M if look is Units.IMPERIAL else 1.0
        self.length.setRange(0, round(MOST_M / unit_m))
        self.length.setSingleStep(STEP[look])
        self.length.setSuffix(say(" ft") if look is Units.IMPERIAL else say(" m"))
        self.length.setValue(round(metres / unit_m))

    def _race_ground(self) -> Mapping[str, float]:
        plan = self._desk.document.season
        return plan.wishes.races[-1].ground_m if plan and plan.wishes.races else {}

    # -- changing ----------------------------------------------------------------------------

    def _enter(self) -> None:
        plan = self._desk.document.season
        if plan is None or not plan.wishes.races:
            return
        ground = dict(self._race_ground())
        unit_m = FOOT_M if self.look.units is Units.IMPERIAL else 1.0
        surface, metres = str(self.surface.currentData()), self.length.value() * unit_m
        ground.pop(surface, None)
        after = with_ground(plan, {**ground, surface: metres} if metres else ground)
        self._desk.apply(say("Set the ground of race day"), lambda d: edits.set_season(d, after))

    def _count_from(self) -> None:
        plan, day = self._desk.document.season, self.since.date()
        since = date(day.year(), day.month(), day.day())
        if plan is not None and since != season_days(plan)[0]:
            after = replace(plan, wishes=replace(plan.wishes, counts_from=since))
            words = say("Count rides from {day}", day=since.isoformat())
            self._desk.apply(words, lambda d: edits.set_season(d, after))


def season_days(plan: SeasonPlan) -> tuple[date, date]:
    """Give the first and last day whose rides count for a season."""
    first, last = plan.sessions[0].on, plan.sessions[-1].on
    return plan.wishes.counts_from or first, last


def with_ground(plan: SeasonPlan, ground_m: Mapping[str, float]) -> SeasonPlan:
    """Say what the last race brings, metres by surface in one lap."""
    *before, last = plan.wishes.races
    races = (*before, replace(last, ground_m=dict(ground_m)))
    return replace(plan, wishes=replace(plan.wishes, races=races))


def _rows(ledger: Ledger) -> list[list[str]]:
    ridden = ledger.met_s > 0
    return [
        [
            surface_words(line.surface),
            _time(line.met_s) if ridden else "",
            units.percent(line.met_share) if ridden else "",
            units.percent(line.race_share) if line.race_m else "",
        ]
        for line in ledger.lines
    ]


def _time(seconds: float) -> str:
    """Say hours and minutes, ``1 h 05``, or minutes alone."""
    minutes = round(seconds / 60)
    hours, rest = divmod(minutes, 60)
    return say("{h} h {m:02d}", h=hours, m=rest) if hours else say("{m} min", m=minutes)


def gap_words(ledger: Ledger) -> str:
    """Name the gaps; where nothing ridden is tagged, say that they are not known."""
    if not ledger.gaps:
        return told(ledger.words)
    names = ", ".join(surface_words(surface) for surface in ledger.gaps)
    if ledger.met_s == 0 and ledger.untagged_s == 0:
        return say("No timed ride of this season yet. Race day brings {names}.", names=names)
    if ledger.met_s == 0:
        return say("Tag the ground ridden to see whether these are met: {names}.", names=names)
    return say("Met too seldom: {names}. A loop over every surface brings them in.", names=names)


def left_out_words(ledger: Ledger, met: GroundMet) -> str:
    """Say what the shares leave out: ground not tagged, rides without times."""
    parts = []
    if ledger.untagged_s > 0:
        share = units.percent(ledger.untagged_s / (ledger.met_s + ledger.untagged_s))
        parts.append(say("{share} of the time was on ground not tagged yet.", share=share))
    if met.untimed:
        parts.append(
            count(met.untimed, "1 ride carries no times and is not counted.",
                  "{n} rides carry no times and are not counted.")
        )  # fmt: skip
    return " ".join(parts)
