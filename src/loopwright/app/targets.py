"""Targets of the lap in view: time, effort, gear and speed, section by section.

Gets a window with a planned loop in view; gives a sheet of tables for so many laps. Promises: the
limits of the estimate stand below the numbers; the sheet works in jobs and closes with its loop.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from PySide6.QtCore import QSize, Qt
from PySide6.QtWidgets import QDialog, QDoubleSpinBox, QSpinBox, QTabWidget, QVBoxLayout, QWidget

from loopwright import targets_told as rows_told
from loopwright.app.parts import label, row
from loopwright.app.sheet import fit_screen
from loopwright.app.tables import Table
from loopwright.app.told import told, told_all
from loopwright.app.words import capital, say
from loopwright.jobs import Report
from loopwright.model.course import Course
from loopwright.model.rider import LapPlan
from loopwright.units import Units

if TYPE_CHECKING:
    from loopwright.app.window import Window

JOB = "targets"
MOST_LAPS, MOST_KG = 30, 20.0
SIZE = (860, 640)


@dataclass(frozen=True, kw_only=True, eq=False)
class Answer:
    """A plan and what more mass costs it."""

    plan: LapPlan
    costs: str


def show_targets(window: Window) -> None:
    """Open the sheet for the loop in view."""
    if window.desk.course is not None:
        TargetsDialog(window, window.desk.course).show()


class TargetsDialog(QDialog):
    """What the plan asks, for so many laps in one go."""

    def __init__(self, window: Window, course: Course) -> None:
        super().__init__(window)
        self.setWindowTitle(say("Targets of {loop}", loop=course.name))
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.desk, self.course = window.desk, course
        self.units = window.look.units
        self.laps = QSpinBox()
        self.laps.setRange(1, MOST_LAPS)
        self.laps.setAccessibleName(say("Laps in one go"))
        self.heavier = QDoubleSpinBox()
        self.heavier.setRange(-MOST_KG, MOST_KG)
        self.heavier.setValue(2.0)
        self.heavier.setDecimals(1)
        self.heavier.setAccessibleName(say("What if: kilograms more"))
        self.head = label(say("Working…"))
        self.tabs = QTabWidget()
        self.tabs.setDocumentMode(True)
        self.tabs.tabBar().setAccessibleName(say("Tables of targets"))
        self.foot = label("", "soft")
        self._lay_out()
        fit_screen(self, QSize(*(window.look.px(side) for side in SIZE)))
        self.laps.valueChanged.connect(lambda _n: self.work())
        self.heavier.valueChanged.connect(lambda _kg: self.work())
        self.desk.shown_changed.connect(self.close)
        self.work()

    def _lay_out(self) -> None:
        lines = QVBoxLayout(self)
        asks = row(
            label(say("Laps in one go")), self.laps, label(say("What if: kg more")), self.heavier,
            QWidget(), stretch=4,
        )  # fmt: skip
        for part in (asks,):
            lines.addLayout(part)
        for widget in (self.head, self.tabs, self.foot):
            lines.addWidget(widget)
        lines.setStretch(2, 1)

    def work(self) -> None:
        """Plan so many laps, and what more mass costs."""
        costs = rows_told.cost_words
        rooms, document, course = self.desk.rooms, self.desk.document, self.course
        laps, kilograms = self.laps.value(), self.heavier.value()

        def work(_report: Report) -> Answer:
            plan = rooms.plan(document, course, laps)
            frame_s = rooms.what_if(document, course, bike_kg=kilograms)
            wheel_s = rooms.what_if(document, course, wheel_kg=kilograms)
            return Answer(plan=plan, costs=costs(kilograms, frame_s, kilograms, wheel_s))

        self.desk.jobs.start(JOB, work, on_done=self.show_answer, on_failed=self.desk.failed)

    def show_answer(self, answer: Answer) -> None:
        """Fill the tables."""
        plan = answer.plan
        words = (rows_told.lap_words(plan), rows_told.balance_words(plan), answer.costs)
        self.head.setText("\n".join(told(one) for one in words if one))
        self.foot.setText(f"{told(rows_told.EFFORT_SCALE)} {told_all(plan.basis)}")
        chosen = max(self.tabs.currentIndex(), 0)
        self.tabs.clear()
        for name, heads, rows, left in sheets(plan, self.units):
            if rows:
                self.tabs.addTab(filled(name, heads, rows, left), name)
        self.tabs.setCurrentIndex(min(chosen, self.tabs.count() - 1))


Sheet = tuple[str, Sequence[str], list[list[str]], tuple[int, ...]]


def sheets(plan: LapPlan, look: Units) -> list[Sheet]:
    """Give the tables of a plan: name, heads, rows, columns of words."""
    return [
        (say("Sections"), rows_told.SPLIT_HEADS, rows_told.split_rows(plan, look), (0,)),
        (say("Climbs"), rows_told.CLIMB_HEADS, rows_told.climb_rows(plan), (0,)),
        (say("Corners"), rows_told.CORNER_HEADS, rows_told.corner_rows(plan, look), (0,)),
        (say("Straights"), rows_told.STRAIGHT_HEADS, rows_told.straight_rows(plan, look), (0,)),
    ]


def filled(
    name: str, heads: Sequence[str], rows: list[list[str]], left: tuple[int, ...]
) -> QWidget:
    """Give a table of rows; columns nobody knows anything for are hidden."""
    table = Table(name, [capital(say(head)) for head in heads], left=left)
    table.show_rows([[told(name_), *cells] for name_, *cells in rows])
    table.let_shrink(160)
    for column in range(len(heads)):
        table.setColumnHidden(column, not any(one[column] for one in rows))
    return table
