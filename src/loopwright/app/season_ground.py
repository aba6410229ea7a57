"""The ground ledger: ground ridden this season against what race day may bring.

Gets a desk; shows shares and gaps, and takes the ground of race day by hand, metre by metre of
one lap. Promises: what is not tagged is told apart, never guessed.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from PySide6.QtWidgets import QComboBox, QSpinBox

from loopwright import edits, units
from loopwright.app.desk import Desk
from loopwright.app.kinds import surface_words
from loopwright.app.parts import Fold, button, label, row
from loopwright.app.tables import Table
from loopwright.app.words import say
from loopwright.model.ground import SURFACES, Terrain
from loopwright.model.season import SeasonPlan
from loopwright.season import Ledger, added_up, ground_ledger
from loopwright.season.ledger import UNKNOWN

MOST_M = 30000


class GroundFold(Fold):
    """The ledger, with a way to say what race day brings."""

    def __init__(self, desk: Desk, do: Callable[[str], None]) -> None:
        super().__init__(say("Ground this season"), open_=False)
        self._desk = desk
        self.table = Table(
            say("Ground met and expected"), [say("Ground"), say("Ridden"), say("Race day")]
        )
        self.gaps, self.untagged = label("", "soft"), label("", "faint")
        self.surface, self.metres = QComboBox(), QSpinBox()
        self.surface.setAccessibleName(say("Ground of race day"))
        for surface in SURFACES:
            if surface != UNKNOWN:
                self.surface.addItem(surface_words(surface), surface)
        self.metres.setRange(0, MOST_M)
        self.metres.setSingleStep(50)
        self.metres.setSuffix(say(" m"))
        self.metres.setAccessibleName(say("Metres of it in a race lap"))
        self.enter = button(say("Set"), self._enter, name=say("Set the ground of race day"))
        self.measure = button(say("Measure a race lap…"), lambda: do("race_ground"))
        self.offer = button(say("Find a loop over every surface"), lambda: do("every_surface"))
        self._lay_out()
        self.surface.currentIndexChanged.connect(lambda _at: self._show_metres())

    def _lay_out(self) -> None:
        self.add(
            label(say("Share of metres ridden in the area's rides, against race day."), "faint")
        )
        self.add(self.table, self.gaps, self.untagged, self.offer)
        self.asks = Fold(say("What race day may bring"))
        self.asks.add(label(say("Metres of each ground in one race lap."), "faint"))
        self.asks.lines.addLayout(row(self.surface, self.metres, self.enter, stretch=0))
        self.asks.add(self.measure)
        self.add(self.asks)

    def refresh(self) -> None:
        """Show the ledger of the document and the terrain."""
        plan, terrain = self._desk.document.season, self._desk.terrain
        races = plan.wishes.races if plan else ()
        ledger = ground_ledger(met_ground(terrain), added_up(race.ground_m for race in races))
        self.table.show_rows(_rows(ledger))
        self.table.setVisible(bool(ledger.lines))
        self.gaps.setText(gap_words(ledger))
        self.untagged.setText(_untagged_words(ledger))
        self.untagged.setVisible(ledger.untagged_m > 0)
        self.offer.setEnabled(terrain is not None)
        self.asks.setVisible(bool(races))
        self.setVisible(bool(races) or bool(ledger.lines))
        self._show_metres()

    def _show_metres(self) -> None:
        plan = self._desk.document.season
        ground = plan.wishes.races[-1].ground_m if plan and plan.wishes.races else {}
        self.metres.setValue(round(ground.get(str(self.surface.currentData()), 0.0)))

    def _enter(self) -> None:
        plan = self._desk.document.season
        if plan is None or not plan.wishes.races:
            return
        ground = dict(plan.wishes.races[-1].ground_m)
        surface, metres = str(self.surface.currentData()), float(self.metres.value())
        ground.pop(surface, None)
        after = with_ground(plan, {**ground, surface: metres} if metres else ground)
        self._desk.apply(say("Set the ground of race day"), lambda d: edits.set_season(d, after))


def with_ground(plan: SeasonPlan, ground_m: Mapping[str, float]) -> SeasonPlan:
    """Say what the last race brings, metres by surface in one lap."""
    *before, last = plan.wishes.races
    races = (*before, replace(last, ground_m=dict(ground_m)))
    return replace(plan, wishes=replace(plan.wishes, races=races))


def met_ground(terrain: Terrain | None) -> dict[str, float]:
    """Add up metres ridden by surface: every stretch as often as it was passed."""
    met: dict[str, float] = {}
    for stretch in terrain.network.stretches if terrain else ():
        for span in terrain.spans.get(stretch.id, ()) if terrain else ():
            metres = (span.to_m - span.from_m) * len(stretch.passes)
            met[span.surface] = met.get(span.surface, 0.0) + metres
    return met


def _rows(ledger: Ledger) -> list[list[str]]:
    ridden = any(line.met_m for line in ledger.lines)
    return [
        [
            surface_words(line.surface),
            units.percent(line.met_share) if ridden else "",
            units.percent(line.race_share) if line.race_m else "",
        ]
        for line in ledger.lines
    ]


def gap_words(ledger: Ledger) -> str:
    """Name the gaps; where nothing ridden is tagged, say that they are not known."""
    if not ledger.gaps:
        return ledger.words
    names = ", ".join(surface_words(surface) for surface in ledger.gaps)
    if ledger.untagged_m > 0 and not any(line.met_m for line in ledger.lines):
        return say("Tag the ground ridden to see whether these are met: {names}.", names=names)
    return say("Met too seldom: {names}. A loop over every surface brings them in.", names=names)


def _untagged_words(ledger: Ledger) -> str:
    known = sum(line.met_m for line in ledger.lines)
    share = ledger.untagged_m / max(known + ledger.untagged_m, 1.0)
    return say("{share} of the metres ridden lie on ground not tagged yet.",
               share=units.percent(share))  # fmt: skip
