"""Several races: those before the main one, each with its date.

Gets races; gives them back in date order. Promises: taking one away never touches the others.
"""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtWidgets import QVBoxLayout, QWidget

from loopwright.app.parts import button, label, row
from loopwright.app.words import say
from loopwright.model.season import Race


class OtherRaces(QWidget):
    """The races beside the one in the fields, a row each."""

    def __init__(self, add: Callable[[], None]) -> None:
        super().__init__()
        self.races: tuple[Race, ...] = ()
        self._rows: list[QWidget] = []
        self.more = button(say("Another race"), add)
        self._lines = QVBoxLayout(self)
        self._lines.setContentsMargins(0, 0, 0, 0)
        self._lines.addWidget(self.more)

    def show_races(self, races: tuple[Race, ...]) -> None:
        """Show these races, by date."""
        self.races = tuple(sorted(races, key=lambda race: race.on))
        for old in self._rows:
            self._lines.removeWidget(old)
            old.hide()
            old.deleteLater()
        self._rows = [self._row(race) for race in self.races]
        for number, line in enumerate(self._rows):
            self._lines.insertWidget(number, line)

    def _row(self, race: Race) -> QWidget:
        line = QWidget()
        words = say("{race}, {day}", race=race.name, day=race.on.strftime("%d %b %Y"))
        away = button(
            say("Take away"), lambda: self._drop(race), name=say("Take away {race}", race=race.name)
        )
        inner = row(label(words), away, stretch=0)
        inner.setContentsMargins(0, 0, 0, 0)
        line.setLayout(inner)
        return line

    def _drop(self, race: Race) -> None:
        self.show_races(tuple(other for other in self.races if other is not race))
