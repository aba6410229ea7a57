"""Folds of the Laps place over one ride: sections, corners and climbs.

Gets what was read of a ride; shows tables. Promises: a fold with nothing to show is not there;
what is less than its standard error is grey and says unclear.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import TYPE_CHECKING

from loopwright.app.laps_reading import LapsRead
from loopwright.app.laps_words import (
    RECORDED,
    climb_row,
    corner_clear,
    corner_lap_rows,
    corner_row,
    rate_unit,
    recorded_row,
    section_clear,
    section_row,
    speed_unit,
    target_words,
    was_recorded,
)
from loopwright.app.look import Look
from loopwright.app.parts import Choice, Fold, label
from loopwright.app.tables import Table
from loopwright.app.told import told
from loopwright.app.words import capital, say

if TYPE_CHECKING:
    from loopwright.laps.climbs import ClimbLap
    from loopwright.laps.sections import CornerLaps, SectionTimes

CHANGE = 4
"""The column of corner speeds that says how the lowest changes."""


def grey_rows(table: Table, clear: Sequence[bool], look: Look, *, only: int | None = None) -> None:
    """Paint rows that are not clear, or one column of them, in the palest ink that still reads."""
    for number, sure in enumerate(clear):
        for column in range(table.columnCount()) if only is None else (only,):
            item = table.item(number, column)
            if item is not None and not sure:
                item.setForeground(look.colour("faint_ink"))


class SectionsFold(Fold):
    """Every section over all laps of the ride."""

    def __init__(self, look: Look) -> None:
        super().__init__(say("Section by section, all laps"), open_=False)
        self.look = look
        self.hint = label("", "faint")
        self.hint.setText(
            say("Lost: the median less the best. Grey, unclear: no more than its standard error.")
        )  # fmt: skip
        self.table = Table(
            say("Sections over all laps"),
            [say("Section"), say("Best"), say("Median"), say("Lost")],
        )
        self.add(self.hint, self.table)

    def show_read(self, read: LapsRead | None) -> None:
        """Show the sections of a ride's complete laps."""
        found = read.sections if read else ()
        self.setVisible(bool(found))
        self.fill_when_open(partial(self._fill, found))

    def _fill(self, found: Sequence[SectionTimes]) -> None:
        self.table.show_rows([section_row(one) for one in found])
        grey_rows(self.table, [section_clear(one) for one in found], self.look)


class CornersFold(Fold):
    """Corner speeds over the laps, and one corner lap by lap."""

    def __init__(self, look: Look) -> None:
        super().__init__(say("Corner speeds"), open_=False)
        self.look = look
        self.found: tuple[CornerLaps, ...] = ()
        self.hint, self.chosen = label("", "faint"), label("", "soft")
        self.table = Table(
            say("Corner speeds"),
            [say("Corner"), say("Entry"), say("Lowest"), say("Exit"), say("A lap")],
        )
        self.laps = Table(
            say("One corner lap by lap"),
            [say("Lap"), say("Entry"), say("Lowest"), say("Exit")], left=(), wide=1,
        )  # fmt: skip
        self.add(self.hint, self.table, self.chosen, self.laps)
        self.table.currentCellChanged.connect(lambda *_cells: self._show_corner())

    def show_read(self, read: LapsRead | None) -> None:
        """Show the corners of a ride's complete laps."""
        self.found = read.corners if read else ()
        self.setVisible(bool(self.found))
        self.fill_when_open(self._fill)

    def _fill(self) -> None:
        units = self.look.units
        self.hint.setText(
            say("Medians in {unit}. A lap: how the lowest speed changes from one lap to the next; "
                "unclear when no more than its standard error.", unit=speed_unit(units))
        )  # fmt: skip
        self.table.show_rows([corner_row(one, units) for one in self.found])
        clear = [corner_clear(one) for one in self.found]
        grey_rows(self.table, clear, self.look, only=CHANGE)
        if self.found and self.table.currentRow() < 0:
            self.table.selectRow(0)
        self._show_corner()

    def _show_corner(self) -> None:
        place = self.table.currentRow()
        if not 0 <= place < len(self.found):
            return
        corner = self.found[place]
        self.chosen.setText(
            say("{corner}, lap by lap, {unit}", corner=capital(told(corner.name)),
                unit=speed_unit(self.look.units))
        )  # fmt: skip
        self.laps.show_rows(corner_lap_rows(corner, self.look.units))


class ClimbsFold(Fold):
    """One climb lap by lap: its rate, and what was recorded against the plan's low cadence."""

    def __init__(self, look: Look) -> None:
        super().__init__(say("Climbs"), open_=False)
        self.look = look
        self.read: LapsRead | None = None
        self.names = Choice()
        self.names.setAccessibleName(say("Climb"))
        self.table = Table(
            say("The climb lap by lap"), [say("Lap"), say("Time"), ""], left=(), wide=1
        )
        self.target, self.missing = label("", "soft"), label("", "faint")
        self.recorded = Table(
            say("Recorded on the climb"), [say("Lap"), *(unit for _key, unit in RECORDED)]
        )
        self.add(self.names, self.table, self.target, self.recorded, self.missing)
        self.names.activated.connect(lambda _place: self._show_climb())

    def show_read(self, read: LapsRead | None) -> None:
        """Show the climbs of a ride's complete laps."""
        self.read = read
        numbers = {one.number: one.name for one in read.climbs} if read else {}
        now = self.names.currentData()
        self.names.clear()
        for number, name in sorted(numbers.items()):
            self.names.addItem(capital(told(name)), number)
        self.names.setCurrentIndex(max(0, self.names.findData(now)) if numbers else -1)
        self.setVisible(bool(numbers))
        self._show_climb()

    def _show_climb(self) -> None:
        number = self.names.currentData()
        if self.read is None or number is None:
            return
        climbs = [one for one in self.read.climbs if one.number == number]
        head = self.table.horizontalHeaderItem(2)
        if head is not None:
            head.setText(rate_unit(self.look.units))
        self.table.show_rows([climb_row(one, self.look.units) for one in climbs])
        self.target.setText(target_words(climbs, self.read.targets.get(number)))
        self.target.setVisible(bool(self.target.text()))
        self._show_recorded(climbs)

    def _show_recorded(self, climbs: Sequence[ClimbLap]) -> None:
        known = was_recorded(climbs)
        for column, has in enumerate(known, start=1):
            self.recorded.setColumnHidden(column, not has)
        self.recorded.setVisible(any(known))
        self.recorded.show_rows([recorded_row(one) for one in climbs])
        self.missing.setText(
            say("Means over the climb; torque while pedalling.") if any(known)
            else say("This recording holds no power, cadence or heart rate for this climb.")
        )  # fmt: skip
