"""Which state of the ground a search plans for: the newest words, or those that fit a day.

Gets a document; offers race days and the months somebody said dated words in; gives the day chosen.
Promises: nothing is told while the shown value is being set.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime

from PySide6.QtCore import QDate, QSignalBlocker, Signal
from PySide6.QtWidgets import QDateEdit, QVBoxLayout, QWidget

from loopwright.app.kinds import surface_words
from loopwright.app.parts import Choice, label, row
from loopwright.app.words import say
from loopwright.card.words import MONTHS, date_words
from loopwright.model.document import Document
from loopwright.model.ground import Tag

WORDS_NAMED = 2
"""How many surfaces name a month's state."""


class GroundState(QWidget):
    """A choice of states, and a day of one's own."""

    wished = Signal(object)

    def __init__(self) -> None:
        super().__init__()
        self.today: Callable[[], date] = lambda: datetime.now(UTC).date()
        self._days: list[date | None] = [None]
        self.choice = Choice()
        self.choice.setAccessibleName(say("Plan for the ground of"))
        self.choice.explain(
            say("Words with a date (mud in March) hold for that time of the year. Tag them in the "
                "Ground place with Only true of today")
        )  # fmt: skip
        self.day = QDateEdit()
        self.day.setAccessibleName(say("Day whose ground to plan for"))
        self.day.setCalendarPopup(True)
        self.day.setDisplayFormat("d MMMM yyyy")
        self.day.setKeyboardTracking(False)
        lines = QVBoxLayout(self)
        lines.setContentsMargins(0, 0, 0, 0)
        lines.addLayout(row(label(say("Ground as in")), self.choice, stretch=1))
        lines.addWidget(self.day)
        self.choice.activated.connect(self._chosen)
        self.day.dateChanged.connect(lambda day: self.wished.emit(_date(day)))

    def show_document(self, document: Document) -> None:
        """Offer the document's states and show the one it plans for."""
        now = document.settings.plan_for
        offered = [(say("the newest words"), None), *states(document)]
        blocked = [QSignalBlocker(part) for part in (self.choice, self.day)]
        self.choice.clear()
        self.choice.addItems([*(words for words, _ in offered), say("a day I choose")])
        self._days = [on for _, on in offered]
        own = now not in self._days
        self.choice.setCurrentIndex(len(offered) if own else self._days.index(now))
        self.day.setVisible(own)
        if now is not None:
            self.day.setDate(QDate(now.year, now.month, now.day))
        del blocked

    def _chosen(self, place: int) -> None:
        self.wished.emit(self._days[place] if place < len(self._days) else self.today())


def _date(day: QDate) -> date:
    return date(day.year(), day.month(), day.day())


def states(document: Document) -> Iterator[tuple[str, date]]:
    """Race days to come, then months with dated words, newest first; words and the day meant."""
    races = document.season.wishes.races if document.season else ()
    for race in sorted(races, key=lambda race: race.on):
        yield say("{race}, {day}", race=race.name, day=date_words(race.on)), race.on
    months: dict[tuple[int, int], list[Tag]] = {}
    for tag in document.tags:
        if tag.on is not None:
            months.setdefault((tag.on.year, tag.on.month), []).append(tag)
    for _, tags in sorted(months.items(), reverse=True):
        last = max(tag.on for tag in tags if tag.on is not None)
        yield _month_words(last, tags), last


def _month_words(last: date, tags: list[Tag]) -> str:
    said = Counter(tag.surface for tag in tags if tag.surface)
    most = [surface_words(word) for word, _ in said.most_common(WORDS_NAMED)]
    month = f"{MONTHS[last.month - 1]} {last.year}"
    return say("{month}: {what}", month=month, what=", ".join(most)) if most else month
