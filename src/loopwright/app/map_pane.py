"""The map with what floats on it: colours and zoom, the chosen stretch, the empty place.

Gets a desk and a way to do actions; lays small panels over the map's corners. Promises: panels
never cover the middle of the map, and an empty map says what to do first.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial

from PySide6.QtCore import QPoint, Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from loopwright.app.actions import BY_ID
from loopwright.app.desk import Desk
from loopwright.app.look import Look
from loopwright.app.loop_words import gathered
from loopwright.app.map_colours import Question
from loopwright.app.map_view import MapView
from loopwright.app.parts import Choice, button, label, row
from loopwright.app.plain_text import bare_label
from loopwright.app.said import selected_words
from loopwright.app.sheet import Scrolled
from loopwright.app.stretch_words import stretch_words
from loopwright.app.words import say
from loopwright.model.ground import Terrain

EDGE_PX = 12
NORTH_PX = 48
"""Room for the north arrow in the upper left."""
EMPTY_PX = 420
CHOSEN_PX = 400
QUESTIONS = {
    Question.PLAIN: "Trails in grey",
    Question.GRADE: "Steepness",
    Question.GROUND: "Ground",
    Question.CORNERS: "Corners",
    Question.PASSES: "How often ridden",
    Question.CERTAINTY: "How sure the line is",
}


class MapPane(QWidget):
    """Map and floating panels."""

    asked = Signal(object)
    """The question the colours should answer, when a person changes it."""

    def __init__(self, desk: Desk, look: Look, do: Callable[[str], None]) -> None:
        super().__init__()
        self.desk, self.look, self._do = desk, look, do
        self.map = MapView(desk, look)
        lines = QVBoxLayout(self)
        lines.setContentsMargins(0, 0, 0, 0)
        lines.addWidget(self.map)

    def build(self) -> Iterator[None]:
        """Put in what floats on the map, piece by piece."""
        desk = self.desk
        self.corner = self._corner_panel()
        yield
        self.chosen = self._chosen_panel()
        yield
        self.empty = self._empty_panel()
        desk.selection_changed.connect(self.refresh)
        desk.asked.changed.connect(self.refresh)
        soon = desk.turns.of(self.refresh)
        for signal in (desk.terrain_changed, desk.document_changed, desk.told):
            signal.connect(soon)
        self.refresh()

    def _floating(self, name: str) -> QFrame:
        frame = QFrame(self)
        frame.setProperty("role", "floating")
        frame.setAccessibleName(name)
        return frame

    def _corner_panel(self) -> QFrame:
        frame = self._floating(say("Map colours and zoom"))
        self.colours = Choice()
        self.colours.setAccessibleName(say("What the colours tell"))
        for question, words in QUESTIONS.items():
            self.colours.addItem(say(words), question)
        self.colours.activated.connect(lambda place: self.asked.emit(self.colours.itemData(place)))
        line = QHBoxLayout(frame)
        line.setContentsMargins(4, 4, 4, 4)
        line.setSpacing(4)
        line.addWidget(self.colours)
        for sign, what in (("+", "closer"), ("−", "further"), ("⤢", "fit")):  # noqa: RUF001 - signs to read
            line.addWidget(self._small(sign, what))
        return frame

    def _small(self, sign: str, what: str) -> QToolButton:
        tool = QToolButton()
        tool.setText(sign)
        tool.setAccessibleName(say(BY_ID[what].words))
        tool.setToolTip(f"{say(BY_ID[what].words)} ({BY_ID[what].keys})")
        tool.clicked.connect(lambda: self._do(what))
        return tool

    def _chosen_panel(self) -> QFrame:
        frame = self._floating(say("Chosen stretches"))
        lines = QVBoxLayout(frame)
        lines.setContentsMargins(10, 8, 10, 8)
        lines.setSpacing(6)
        self.chosen_words = bare_label()
        self.chosen_words.setWordWrap(True)
        lines.addWidget(self.chosen_words)
        pushes = [
            button(words, partial(self._chosen_do, what))
            for words, what in (
            (say("Must be in"), "must"), (say("Keep out"), "avoid"),
            (say("Start here"), "start_here"),
            (say("More…"), "more"),
        )]  # fmt: skip
        lines.addLayout(row(*pushes))
        return frame

    def _chosen_do(self, what: str) -> None:
        if what == "more":
            corner = self.chosen.geometry().bottomLeft()
            self.map.asked.emit(self.mapToGlobal(corner))
        else:
            self._do(what)

    def _empty_panel(self) -> QFrame:
        frame = self._floating(say("Nothing here yet"))
        body = QWidget()
        lines = QVBoxLayout(body)
        lines.setContentsMargins(28, 24, 28, 24)
        lines.setSpacing(12)
        lines.addWidget(label(say("Start with your own rides"), "head"))
        lines.addWidget(
            label(
                say(
                    "Drop recorded rides (GPX or FIT) anywhere on this window, or choose them. "
                    "They become a map of your trails, and the finder builds laps from it."
                ),
                "soft",
            )
        )
        self.import_button = button(say("Import rides…"), lambda: self._do("import"), main=True)
        lines.addWidget(self.import_button)
        lines.addWidget(
            button(say("Look around the invented sample area"), lambda: self._do("sample"))
        )
        self._empty_words = Scrolled(body, say("Start with your own rides"))
        whole = QVBoxLayout(frame)
        whole.setContentsMargins(2, 2, 2, 2)
        whole.addWidget(self._empty_words)
        return frame

    def refresh(self) -> None:
        """Show the panels that apply."""
        desk = self.desk
        nothing = not desk.document.rides and not desk.jobs.busy("import")
        self.empty.setVisible(nothing and not desk.jobs.busy("open"))
        asked = desk.asked.xy is not None
        self.chosen.setVisible(bool(desk.selection) and desk.terrain is not None and not asked)
        if desk.selection and desk.terrain is not None:
            one = len(desk.selection) == 1
            self.chosen_words.setText(
                stretch_words(desk.terrain, desk.selection[0], self.look.units)
                if one
                else self._several(desk.terrain)
            )
        self._place()

    def _several(self, terrain: Terrain) -> str:
        """Say how many stretches are chosen and what they hold, ridden as they were clicked."""
        desk = self.desk
        held = gathered(terrain, desk.selection, desk.wishes.mix, self.look.units)
        return f"{selected_words(desk)}, {held}"

    def show_question(self, question: Question) -> None:
        """Colour the map by a question and show it as chosen."""
        self.colours.setCurrentIndex(list(QUESTIONS).index(question))
        if self.map.ground.question is not question:
            self.map.ask(question)

    def dress(self, look: Look) -> None:
        """Take another look."""
        self.look = look
        self.map.dress(look)
        self.refresh()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Keep panels in their corners."""
        super().resizeEvent(event)
        self._place()

    def _place(self) -> None:
        room = self.width() - 2 * EDGE_PX
        wide = min(room, self.corner.sizeHint().width())
        self._size(self.corner, wide)
        self.map.covered_px = EDGE_PX + self.corner.height()
        broad = min(room, self.look.px(EMPTY_PX))
        high = self._empty_words.high_at(broad) + EDGE_PX
        self.empty.resize(broad, min(high, self.height() - 2 * EDGE_PX))
        self.empty.raise_()
        left = EDGE_PX + NORTH_PX
        beside = room - NORTH_PX - wide - EDGE_PX
        below = beside < self.look.px(CHOSEN_PX)
        self._size(self.chosen, min(room - NORTH_PX if below else beside, self.look.px(CHOSEN_PX)))
        self.corner.move(QPoint(self.width() - wide - EDGE_PX, EDGE_PX))
        top = EDGE_PX + (self.corner.height() + EDGE_PX if below else 0)
        crowded = top + self.chosen.height() + EDGE_PX > self.height()
        self.chosen.move(QPoint(left, EDGE_PX if crowded else top))
        gives_way = crowded and bool(self.desk.selection)
        self.corner.setVisible(self.desk.terrain is not None and not gives_way)
        self.empty.move(
            QPoint((self.width() - self.empty.width()) // 2,
                   max(EDGE_PX, (self.height() - self.empty.height()) // 2))
        )  # fmt: skip

    def _size(self, frame: QFrame, wide: int) -> None:
        """Give a panel a width and the height its words then take."""
        inner = frame.layout()
        assert inner is not None  # noqa: S101 - every panel has one
        high = inner.totalHeightForWidth(wide) if inner.hasHeightForWidth() else -1
        frame.resize(wide, max(high, inner.totalMinimumSize().height()))
        frame.raise_()

    def keep_focusable(self) -> None:
        """Let the keyboard reach the map first, then the panels."""
        QWidget.setTabOrder(self.map, self.colours)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
