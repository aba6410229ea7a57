"""What the season planner asks: races, weeks, days, hours, how often each drill.

Gets nothing; gives season wishes, or None while no race has a date. Promises: sensible values from
the start, so that one date is enough.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

from PySide6.QtCore import QDate
from PySide6.QtWidgets import (
    QCheckBox,
    QDateEdit,
    QDoubleSpinBox,
    QFormLayout,
    QLineEdit,
    QSpinBox,
    QVBoxLayout,
    QWidget,
)

from loopwright.app.parts import Choice, add_field, form, label, row
from loopwright.app.season_races import OtherRaces
from loopwright.app.words import capital, say
from loopwright.io.plain import plain
from loopwright.model.season import Race, SeasonWishes
from loopwright.season.purposes import DRILLS, USUAL_COUNTS

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
STYLES = {"even": "Even weeks", "blocked": "Blocked weeks"}
USUAL = SeasonWishes(races=())
MOST_DRILLS = 8


class SeasonForm(QWidget):
    """The form."""

    def __init__(self, today: Callable[[], date]) -> None:
        super().__init__()
        self._today = today
        self._shown: SeasonWishes | None = None
        self.others = OtherRaces(self._add_race)
        self._ground: Race | None = None
        self.race_name = QLineEdit()
        self.race_name.setPlaceholderText(say("Name of the race"))
        self.race_name.setToolTip(self.race_name.placeholderText())
        self.race_day = QDateEdit()
        self.race_day.setCalendarPopup(True)
        self.race_day.setDisplayFormat("d MMM yyyy")
        first = today() + timedelta(weeks=USUAL.weeks)
        self.race_day.setDate(QDate(first.year, first.month, first.day))
        self.weeks = QSpinBox()
        self.weeks.setRange(1, 52)
        self.hours = QDoubleSpinBox()
        self.hours.setRange(0.5, 30.0)
        self.hours.setSingleStep(0.5)
        self.hours.setDecimals(1)
        self.hard = QSpinBox()
        self.hard.setRange(1, 4)
        self.style_box = Choice()
        for key, words in STYLES.items():
            self.style_box.addItem(say(words), key)
        self.days = [QCheckBox(say(day)) for day in DAYS]
        self.drills = {kind: QSpinBox() for kind in DRILLS}
        self._lay_out()
        self.show_wishes(USUAL)

    def _lay_out(self) -> None:
        fields = form()
        for words, field in (
            (say("Race"), self.race_name), (say("Race day"), self.race_day),
            (say("Weeks"), self.weeks), (say("Hours a week"), self.hours),
            (say("Hard days in a row"), self.hard), (say("Weeks are"), self.style_box),
        ):  # fmt: skip
            add_field(fields, words, field)
        fields.insertRow(2, self.others)
        for day in self.days:
            day.setAccessibleName(say("Train on {day}", day=day.text()))
        lines = QVBoxLayout(self)
        lines.setContentsMargins(0, 0, 0, 0)
        lines.addLayout(fields)
        lines.addLayout(row(*self.days))
        lines.addWidget(label(say("How often in four weeks"), "faint"))
        lines.addLayout(self._lay_out_drills())

    def _lay_out_drills(self) -> QFormLayout:
        lines = form()
        for kind, often in self.drills.items():
            often.setRange(0, MOST_DRILLS)
            often.setAccessibleName(say("{kind} in four weeks", kind=capital(say(kind))))
            lines.addRow(label(capital(say(kind))), often)
        return lines

    def _race(self) -> Race:
        day = self.race_day.date()
        return Race(
            name=plain(self.race_name.text()) or say("Race"),
            on=date(day.year(), day.month(), day.day()),
            ground_m=self._ground.ground_m if self._ground else {},
        )

    def _races(self) -> tuple[Race, ...]:
        """Give all races; one without a name is no race once there are others."""
        here, others = self._race(), self.others.races
        if others and not self.race_name.text().strip():
            return others
        return (*(race for race in others if race.on != here.on), here)

    def _add_race(self) -> None:
        """Put the race in the fields aside and ask for another one."""
        self.others.show_races((*self.others.races, self._race()))
        self._ground = None
        self.race_name.clear()
        self.race_day.setDate(self.race_day.date().addDays(7))
        self.race_name.setFocus()

    def show_wishes(self, wishes: SeasonWishes) -> None:
        """Show wishes, the last race in the fields; what is half typed stays for the same ones."""
        if wishes == self._shown:
            return
        self._shown = wishes
        if wishes.races:
            race = wishes.races[-1]
            self._ground = race
            self.others.show_races(wishes.races[:-1])
            self.race_name.setText(race.name)
            self.race_day.setDate(QDate(race.on.year, race.on.month, race.on.day))
        self.weeks.setValue(wishes.weeks)
        self.hours.setValue(wishes.hours_a_week)
        self.hard.setValue(wishes.hard_days_in_a_row)
        self.style_box.setCurrentIndex(list(STYLES).index(wishes.weeks_style))
        for number, day in enumerate(self.days):
            day.setChecked(number in wishes.training_days)
        for kind, often in {**USUAL_COUNTS, **wishes.wanted_counts}.items():
            if kind in self.drills:
                self.drills[kind].setValue(often)

    def wishes(self) -> SeasonWishes | None:
        """Give what is asked; None when no race lies ahead."""
        races = self._races()
        if max(race.on for race in races) <= self._today():
            return None
        return SeasonWishes(
            races=tuple(sorted(races, key=lambda race: race.on)),
            weeks=self.weeks.value(),
            training_days=tuple(n for n, day in enumerate(self.days) if day.isChecked()),
            hours_a_week=self.hours.value(),
            hard_days_in_a_row=self.hard.value(),
            weeks_style=str(self.style_box.currentData()),
            wanted_counts={kind: often.value() for kind, often in self.drills.items()},
        )
