"""Why this loop and not another: what each stretch adds, and what is lost without it.

Gets a window with a loop in view; gives a table of its stretches and answers about one stretch at
a time. Promises: every answer comes from a search under the wishes as they stand.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from PySide6.QtCore import QSize, Qt
from PySide6.QtWidgets import QDialog, QVBoxLayout

from loopwright import units
from loopwright.app.away import with_here, without_here
from loopwright.app.by_hand import Asked, saved
from loopwright.app.loop_words import brings, difference
from loopwright.app.parts import button, label, row
from loopwright.app.sheet import fit_screen
from loopwright.app.stretch_words import title
from loopwright.app.tables import Table
from loopwright.app.words import capital, say
from loopwright.jobs import Report
from loopwright.model.ids import StretchId
from loopwright.model.loops import FoundLoop, SavedLoop

if TYPE_CHECKING:
    from loopwright.app.window import Window
    from loopwright.loops.explain import Comparison, Part
    from loopwright.loops.legal import LoopFault

ASK_JOB = "why not"


@dataclass(frozen=True, kw_only=True, eq=False)
class Explained:
    """The loop in view, stretch by stretch."""

    asked: Asked
    loop: FoundLoop
    parts: tuple[Part, ...]
    faults: tuple[LoopFault, ...]


@dataclass(frozen=True, kw_only=True, eq=False)
class Answer:
    """The best loop with or without a stretch, and how it differs; None if there is none."""

    ridden: bool
    loop: SavedLoop | None = None
    told: Comparison | None = None


class Explaining:
    """Explain actions of one window."""

    def __init__(self, window: Window) -> None:
        self.window = window

    def doings(self) -> dict[str, Callable[[], object]]:
        """Say what the actions do."""
        return {"why": lambda: self._explain(None), "why_not": self._about_chosen}

    def _about_chosen(self) -> None:
        chosen = self.window.desk.selection
        if chosen:
            self._explain(chosen[-1])

    def _explain(self, about: StretchId | None) -> None:
        window, desk = self.window, self.window.desk
        shown = desk.shown
        if shown is None:
            return

        def show(told: Explained) -> None:
            if desk.shown is shown:
                dialog = WhyDialog(window, told)
                dialog.show()
                if about is not None:
                    dialog.ask(about)

        desk.jobs.start(
            "why", lambda report: _explained(window, report), on_done=show, on_failed=desk.failed
        )


def _explained(window: Window, report: Report) -> Explained:
    from loopwright.loops.explain import parts_of
    from loopwright.loops.legal import faults_of

    asked = Asked.of(window.desk, window.desk.shown, report)
    return Explained(
        asked=asked,
        loop=asked.worth(),
        parts=parts_of(asked.terrain, asked.question, asked.arcs),
        faults=faults_of(asked.terrain, asked.question, asked.arcs),
    )


class WhyDialog(QDialog):
    """What each stretch adds, in riding order, and what would be lost without it."""

    def __init__(self, window: Window, told: Explained) -> None:
        super().__init__(window)
        self.setWindowTitle(say("Why this loop"))
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.window_, self.desk, self.told = window, window.desk, told
        network = told.asked.terrain.network
        self.names = {s.id: title(s) for s in network.stretches}
        self.other: SavedLoop | None = None
        heads = [say("Stretch"), say("Length"), say("Brings"), say("Adds"), say("Costs")]
        self.table = Table(say("What each stretch adds"), heads, left=(0, 2), wide=2)
        self.table.show_rows([self._row(part) for part in told.parts])
        self.table.itemSelectionChanged.connect(self._row_chosen)
        self.answer = label(say("Choose a stretch to see what would be lost without it."))
        self.answer.setAccessibleName(say("Answer"))
        self.show_other = button(say("Show that loop"), self._show_other)
        self.show_other.setEnabled(False)
        self._lay_out()
        self.finished.connect(lambda _code: self.desk.jobs.drop(ASK_JOB))

    def _row(self, part: Part) -> list[str]:
        look = self.window_.look.units
        mix = self.told.asked.question.wishes.mix
        name = self.names.get(part.arc[0], part.arc[0])
        return [name, units.short(part.length_m, look), brings(part.amounts, mix, look),
                f"{part.points:.1f}", f"{part.cost:.1f}"]  # fmt: skip

    def _lay_out(self) -> None:
        hint = say(
            "Points of 100: what the match would lose without the stretch, and what its length "
            "costs. A stretch that adds nothing may still be needed to get round."
        )
        look = self.window_.look
        lines = QVBoxLayout(self)
        lines.addWidget(label(self._head(), "head"))
        for fault in self.told.faults:
            lines.addWidget(label(self._fault(fault), "warning"))
        lines.addWidget(label(hint, "soft"))
        self.table.let_shrink(look.px(120))
        lines.addWidget(self.table, 1)
        lines.addWidget(self.answer)
        lines.addLayout(row(self.show_other, button(say("Close"), self.close)))
        fit_screen(self, QSize(look.px(720), look.px(520)))

    def _head(self) -> str:
        """Say how far the loop is from the best possible."""
        from loopwright.loops.explain import compare, in_plain_words

        result = self.desk.result
        if result is None or not result.loops:
            return say("This loop meets {m} of the mix", m=units.percent(self.told.loop.match))
        best = result.loops[0]
        if self.told.loop.score >= best.score - 0.01:
            return capital(say(in_plain_words(result))) + "."
        told = compare(self.told.asked.question, best, self.told.loop)
        return say("Beside the best loop found: {how}.", how=difference(told))

    def _fault(self, fault: LoopFault) -> str:
        if fault.stretch is None:
            return say("As the wishes stand now, this loop is {what}.", what=fault.words)
        name = self.names.get(fault.stretch, fault.stretch)
        return say("{name}: {what}.", name=name, what=fault.words)

    # -- asking ----------------------------------------------------------------------------

    def _row_chosen(self) -> None:
        place = self.table.currentRow()
        if 0 <= place < len(self.told.parts):
            self.ask(self.told.parts[place].arc[0])

    def ask(self, name: StretchId) -> None:
        """Ask what the best loop without a ridden stretch, or with another one, is worth."""
        desk, told = self.desk, self.told
        ridden = name in {stretch for stretch, _ in told.asked.arcs}
        self.answer.setText(say("Searching…"))
        self.other = None
        self.show_other.setEnabled(False)
        desk.select((name,))

        def work(report: Report) -> Answer:
            from loopwright.loops.explain import compare

            ask = without_here if ridden else with_here
            found = desk.away(ask, (*told.asked.inputs, name), report)
            if found is None:
                return Answer(ridden=ridden)
            told_ = compare(told.asked.question, told.loop, found)
            other = saved(told.asked, found, self._other_name(name, ridden=ridden))
            return Answer(ridden=ridden, loop=other, told=told_)

        desk.jobs.start(ASK_JOB, work, on_done=lambda answer: self._answered(name, answer),
                        on_failed=self._failed)  # fmt: skip

    def _other_name(self, name: StretchId, *, ridden: bool) -> str:
        title_ = self.names.get(name, name)
        words = say("without {name}") if ridden else say("through {name}")
        return words.format(name=title_)

    def _answered(self, name: StretchId, answer: Answer) -> None:
        title_ = self.names.get(name, name)
        if answer.told is None:
            words = (
                say("Without {name} no loop fits these wishes.", name=title_)
                if answer.ridden
                else say("No loop that fits these wishes runs through {name}.", name=title_)
            )
        else:
            how = difference(answer.told)
            words = (
                say("Without {name} the best loop is {how}.", name=title_, how=how)
                if answer.ridden
                else say("Through {name} the best loop is {how}.", name=title_, how=how)
            )
        self.answer.setText(words)
        self.other = answer.loop
        self.show_other.setEnabled(answer.loop is not None)

    def _failed(self, error: BaseException) -> None:
        self.answer.setText(say("No answer this time."))
        self.desk.failed(error)

    def _show_other(self) -> None:
        if self.other is not None:
            self.desk.select(())
            self.desk.show_loop(self.other)
            self.close()
