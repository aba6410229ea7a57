"""A day on a heavier bike: what two kilograms cost on the loop in view, noted on the day.

Gets a desk; works the seconds out in a job. Promises: on the frame and at the rims are told apart;
the seconds are an estimate for the loop in view and say so.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

from PySide6.QtWidgets import QWidget

from loopwright.app.desk import Desk
from loopwright.app.parts import Fold, button, label, row
from loopwright.app.words import say
from loopwright.model.season import SeasonPlan
from loopwright.season import heavier_bike, write_note
from loopwright.season.changes import session_on

EXTRA_KG = 2.0
Costs = tuple[float, float]


class HeavyFold(Fold):
    """Asks, shows and notes what a heavier bike costs. ``note`` takes words parts: where, cost."""

    def __init__(self, desk: Desk, note: Callable[[float, bool], None]) -> None:
        super().__init__(say("A day on a heavier bike"), open_=False)
        self._desk, self._note = desk, note
        self.costs: Costs | None = None
        self.told = label("", "soft")
        self.ask = button(say("What would 2 kg cost?"), self.work_out)
        self.frame = button(say("Note: on the frame"), lambda: self._put(rims=False))
        self.rims = button(say("Note: at the rims"), lambda: self._put(rims=True))
        self.add(self.ask, self.told)
        self.lines.addLayout(row(self.frame, self.rims))
        self.day_chosen = False
        self.forget()
        desk.plan_changed.connect(self.forget)

    def buttons(self) -> tuple[QWidget, QWidget]:
        """Give the buttons that note a day."""
        return self.frame, self.rims

    def choose(self, *, training: bool) -> None:
        """Tell whether a training day is chosen."""
        self.day_chosen = training
        self._enable()

    def forget(self) -> None:
        """Drop the figures: the loop, the ground or the rider is another."""
        self._desk.jobs.drop("what if")
        self.costs = None
        self.told.setText(say("Seconds a lap on the loop in view, at the same effort."))
        self._enable()

    def _enable(self) -> None:
        self.ask.setEnabled(self._desk.course is not None)
        for push in self.buttons():
            push.setEnabled(self.costs is not None and self.day_chosen)

    def work_out(self) -> None:
        """Work the seconds out for the loop in view and the rider as they are."""
        course, document, rooms = self._desk.course, self._desk.document, self._desk.rooms
        if course is None:
            self._desk.warn(say("Choose a loop in Loops first"))
            return

        def work(_report: object) -> Costs:
            return (
                rooms.what_if(document, course, bike_kg=EXTRA_KG),
                rooms.what_if(document, course, wheel_kg=EXTRA_KG),
            )

        self._desk.jobs.start("what if", work, on_done=self._show, on_failed=self._desk.failed)

    def _show(self, costs: Costs) -> None:
        self.costs = costs
        words = say(
            "Estimate for the loop in view: {frame} s a lap on the frame, {rims} s at the rims.",
            frame=f"{costs[0]:+.1f}", rims=f"{costs[1]:+.1f}",
        )  # fmt: skip
        self.told.setText(words)
        self._enable()

    def _put(self, *, rims: bool) -> None:
        if self.costs is not None:
            self._note(self.costs[rims], rims)


def note_heavy(plan: SeasonPlan, day: date, *, lap_s: float, rims: bool) -> SeasonPlan:
    """Note a heavier bike on a day, in place of an older note of the same."""
    parts = session_on(plan, day).note.split("; ")
    kept = "; ".join(part for part in parts if not part.startswith("heavier bike"))
    noted = heavier_bike(write_note(plan, day, kept), day, extra_kg=EXTRA_KG, lap_s=lap_s)
    place = say("at the rims") if rims else say("on the frame")
    return write_note(noted, day, f"{session_on(noted, day).note}, {place}")
