"""What the season planner asks: races, weeks, days, hours.

Gets nothing; gives season wishes, or None while no race has a date. Promises: sensible values from
the start, so that one date is enough.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

from PySide6.QtCore import QDate
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QDateEdit,
    QDoubleSpinBox,
    QFormLayout,
    QGridLayout,
    QLineEdit,
    QSpinBox,
    QVBoxLayout,
    QWidget,
)

from loopwright.app.words import say
from loopwright.model.season import Race, SeasonWishes

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
STYLES = {"even": "Even weeks", "blocked": "Blocked weeks"}
USUAL = SeasonWishes(races=())


class SeasonForm(QWidget):
    """The form."""

    def __init__(self, today: Callable[[], date]) -> None:
        super().__init__()
        self._today = today
        self._more: tuple[Race, ...] = ()
        self._ground: Race | None = None
        self.race_name = QLineEdit()
        self.race_name.setPlaceholderText(say("Name of the race"))
        self.race_day = QDateEdit()
        self.race_day.setCalendarPopup(True)
        self.race_day.setDisplayFormat("d MMMM yyyy")
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
        self.style_box = QComboBox()
        for key, words in STYLES.items():
            self.style_box.addItem(say(words), key)
        self.days = [QCheckBox(say(day)) for day in DAYS]
        self._lay_out()
        self.show_wishes(USUAL)

    def _lay_out(self) -> None:
        form = QFormLayout()
        for words, field in (
            (say("Race"), self.race_name), (say("Race day"), self.race_day),
            (say("Weeks"), self.weeks), (say("Hours a week"), self.hours),
            (say("Hard days in a row"), self.hard), (say("Weeks are"), self.style_box),
        ):  # fmt: skip
            field.setAccessibleName(words)
            form.addRow(words, field)
        days = QGridLayout()
        for number, day in enumerate(self.days):
            day.setAccessibleName(say("Train on {day}", day=day.text()))
            days.addWidget(day, number // 4, number % 4)
        lines = QVBoxLayout(self)
        lines.setContentsMargins(0, 0, 0, 0)
        lines.addLayout(form)
        lines.addLayout(days)

    def show_wishes(self, wishes: SeasonWishes) -> None:
        """Show wishes, the last race first."""
        if wishes.races:
            race = wishes.races[-1]
            self._more, self._ground = wishes.races[:-1], race
            self.race_name.setText(race.name)
            self.race_day.setDate(QDate(race.on.year, race.on.month, race.on.day))
        self.weeks.setValue(wishes.weeks)
        self.hours.setValue(wishes.hours_a_week)
        self.hard.setValue(wishes.hard_days_in_a_row)
        self.style_box.setCurrentIndex(list(STYLES).index(wishes.weeks_style))
        for number, day in enumerate(self.days):
            day.setChecked(number in wishes.training_days)

    def wishes(self) -> SeasonWishes | None:
        """Give what is asked; None when no race lies ahead."""
        day = self.race_day.date()
        on = date(day.year(), day.month(), day.day())
        if on <= self._today():
            return None
        ground = self._ground.ground_m if self._ground else {}
        race = Race(name=self.race_name.text().strip() or say("Race"), on=on, ground_m=ground)
        return SeasonWishes(
            races=(*self._more, race),
            weeks=self.weeks.value(),
            training_days=tuple(n for n, day in enumerate(self.days) if day.isChecked()),
            hours_a_week=self.hours.value(),
            hard_days_in_a_row=self.hard.value(),
            weeks_style=str(self.style_box.currentData()),
        )
