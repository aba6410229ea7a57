"""What to look at next: stretches whose tags could change the best loop, and where it may be rough.

Gets a desk; works both lists out in jobs when asked. Promises: a suggestion is only shown; a person
takes it with one key, and then it is a tag like any other, one step that can be undone.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from typing import TYPE_CHECKING, cast

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QListWidgetItem

from loopwright import units
from loopwright.app.brush import Brush
from loopwright.app.desk import Desk
from loopwright.app.kinds import roughness_words
from loopwright.app.look import Look
from loopwright.app.parts import Fold, button, label
from loopwright.app.plain_text import tip
from loopwright.app.stretch_words import title
from loopwright.app.tagging import paint, whole_parts
from loopwright.app.word_list import WordList
from loopwright.app.words import count, say
from loopwright.jobs import Report, Runner
from loopwright.model.document import Document
from loopwright.model.ground import Terrain
from loopwright.model.ids import StretchId
from loopwright.model.wishes import Wishes

if TYPE_CHECKING:
    from loopwright.features.roughness import Suggestion
    from loopwright.features.tag_next import Outlook
    from loopwright.pipeline import Pipeline

ROWS_SHOWN = 5


class StretchList(WordList):
    """Stretches with words; Enter says yes to the current one."""

    taken = Signal(object)

    def __init__(self, name: str) -> None:
        super().__init__(name, shown=ROWS_SHOWN)
        self.itemDoubleClicked.connect(lambda _item: self._take())

    def fill(self, rows: Mapping[StretchId, str]) -> None:
        """Show rows in order."""
        self.clear()
        for stretch, words in rows.items():
            item = QListWidgetItem(words)
            item.setToolTip(tip(words))
            item.setData(Qt.ItemDataRole.UserRole, stretch)
            self.addItem(item)
        self.fit_height()
        self.setVisible(bool(rows))

    def stretch(self) -> StretchId | None:
        """Give the current row's stretch."""
        item = self.currentItem()
        return item.data(Qt.ItemDataRole.UserRole) if item else None

    def _take(self) -> None:
        if self.currentItem() is not None:
            self.taken.emit(self.stretch())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter takes the row."""
        if event.key() in {Qt.Key.Key_Return, Qt.Key.Key_Enter}:
            self._take()
        else:
            super().keyPressEvent(event)


class LookNext(Fold):
    """What tags could change, and roughness suggested by how riders slow down."""

    show_stretch = Signal()

    def __init__(self, desk: Desk, look: Look) -> None:
        super().__init__(say("What to look at next"), open_=False)
        self.desk, self.look = desk, look
        self._terrain: Terrain | None = None
        self.suggested: dict[StretchId, Suggestion] = {}
        self.weigh = button(say("Weigh what tags could change"), self.ask_outlook)
        self.outlook_words = label("", "soft")
        self.worth = StretchList(say("Stretches whose tags could change the best loop"))
        self.slow = button(say("Where do riders slow down?"), self.ask_suggestions)
        self.slow_words = label("", "soft")
        self.rough = StretchList(say("Stretches that may be rough"))
        self.accept = button(say("Tag it so (Enter)"), self.take_current)
        for widget in (self.worth, self.rough):
            widget.currentItemChanged.connect(partial(self._look_at, widget))
        self.rough.taken.connect(self.take)
        self.add(self.weigh, self.outlook_words, self.worth)
        self.add(self.slow, self.slow_words, self.rough, self.accept)
        self.refresh()

    def refresh(self) -> None:
        """Drop what belonged to another ground."""
        terrain = self.desk.terrain
        for push in (self.weigh, self.slow):
            push.setEnabled(terrain is not None)
        before, self._terrain = self._terrain, terrain
        same = before is not None and terrain is not None and before.network is terrain.network
        if not same:
            self.suggested = {}
            self.worth.fill({})
            self.outlook_words.setText("")
            self.slow_words.setText("")
        self._show_suggested()
        for words in (self.outlook_words, self.slow_words):
            words.setVisible(bool(words.text()))

    def _say(self, where: object, words: str) -> None:
        text = self.outlook_words if where == "worth" else self.slow_words
        text.setText(words)
        text.setVisible(bool(words))

    def _look_at(self, widget: StretchList, *_items: object) -> None:
        name = widget.stretch()
        if name is not None and self.desk.stretch(name) is not None:
            self.desk.select((name,))
            self.show_stretch.emit()

    # -- what tags could change --------------------------------------------------------------

    def ask_outlook(self) -> None:
        """Search with and without untagged ground, in a job."""
        desk = self.desk
        rooms = cast("Pipeline", desk.rooms)
        work = partial(_outlook, rooms, desk.document, desk.wishes, desk.aside)
        self._say("worth", say("Weighing: the search runs once for each stretch…"))
        desk.jobs.start("outlook", work, on_done=self._weighed, on_failed=self._not_weighed,
                        on_cancelled=lambda: self._say("worth", ""))  # fmt: skip

    def _not_weighed(self, error: BaseException) -> None:
        self._say("worth", "")
        self.desk.failed(error)

    def _weighed(self, outlook: Outlook) -> None:
        self._say("worth", outlook_words(outlook))
        look = self.look.units
        self.worth.fill({
            item.stretch: say(
                "{name}, {length} untagged: up to {gain} points", name=self._title(item.stretch),
                length=units.short(item.untagged_m, look), gain=f"{item.gain:.1f}",
            )
            for item in outlook.stretches if self.desk.stretch(item.stretch) is not None
        })  # fmt: skip

    def _title(self, name: StretchId) -> str:
        stretch = self.desk.stretch(name)
        return title(stretch) if stretch is not None else str(name)

    # -- roughness suggested -----------------------------------------------------------------

    def ask_suggestions(self) -> None:
        """Set riders' speeds against each other, in a job."""
        desk = self.desk
        work = partial(_suggestions, cast("Pipeline", desk.rooms), desk.document)
        desk.jobs.start("suggest", work, on_done=self._known, on_failed=desk.failed)

    def _known(self, found: Mapping[StretchId, Suggestion]) -> None:
        self.suggested = dict(found)
        self._say("rough", suggested_words(len(found)))
        self._show_suggested()

    def _show_suggested(self) -> None:
        rows = {
            name: say(
                "{name}: perhaps {word} ({share} % of usual speed, {n})", name=self._title(name),
                word=roughness_words(one.word), share=f"{100 * one.speed_share:.0f}",
                n=count(one.passes, "1 pass", "{n} passes"),
            )
            for name, one in self.suggested.items() if self.desk.stretch(name) is not None
        }  # fmt: skip
        now = self.rough.currentRow()
        self.rough.fill(rows)
        self.rough.setCurrentRow(min(max(now, 0), len(rows) - 1))
        self.accept.setVisible(bool(rows))

    def take_current(self) -> None:
        """Take the suggestion in the current row."""
        name = self.rough.stretch()
        if name is not None:
            self.take(name)

    def take(self, name: StretchId) -> None:
        """Tag a stretch as suggested."""
        terrain, one = self.desk.terrain, self.suggested.pop(name, None)
        if terrain is not None and one is not None:
            paint(self.desk, whole_parts(terrain, (name,)), Brush(roughness=one.word), on=None)
            self._show_suggested()


def _outlook(
    rooms: Pipeline,
    document: Document,
    wishes: Wishes,
    aside: Runner,
    report: Report,
) -> Outlook:
    from loopwright.look_next import outlook

    return outlook(rooms, document, wishes, report, run=aside)


def _suggestions(
    rooms: Pipeline, document: Document, report: Report
) -> Mapping[StretchId, Suggestion]:
    from loopwright.look_next import suggestions

    return suggestions(rooms, document, report)


def outlook_words(outlook: Outlook) -> str:
    """Say how far the best score could rise."""
    if outlook.at_most - outlook.now < 0.05:
        return say("The best loop scores {now}; no tag could raise that under these wishes.",
                   now=f"{outlook.now:.1f}")  # fmt: skip
    return say("The best loop scores {now}; if all untagged ground suited your wishes it could be "
               "{most}.", now=f"{outlook.now:.1f}", most=f"{outlook.at_most:.1f}")  # fmt: skip


def suggested_words(number: int) -> str:
    """Say what the speeds tell."""
    if number == 0:
        return say("No untagged stretch is ridden clearly slower than its grade explains.")
    return say("Ridden slower than the grade explains. Mud, traffic and caution slow riders too: "
               "nothing is tagged until you say so.")  # fmt: skip
