"""Leading the loop by hand: through a stretch, around one, or keeping a part and finding the rest.

Gets a window with a loop in view and stretches; gives the nearest legal loop, scored. Promises: the
new loop is judged by the same rules, what it is worth is told while the loop is still being pulled,
and the change in match is told at the end.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from loopwright import units
from loopwright.app.away import finish_here, lead_here
from loopwright.app.rooms import asked_of
from loopwright.app.words import say
from loopwright.jobs import Report
from loopwright.model.ground import Terrain
from loopwright.model.ids import Arc, StretchId
from loopwright.model.loops import FoundLoop, SavedLoop
from loopwright.model.wishes import Question

if TYPE_CHECKING:
    from loopwright.app.desk import Desk
    from loopwright.app.window import Window
    from loopwright.loops.further import Further

JOB = "by hand"


@dataclass(frozen=True, kw_only=True, eq=False)
class Led:
    """A loop made by hand: as found, as it is kept, and what the loop before it is worth now."""

    found: FoundLoop
    before: FoundLoop
    loop: SavedLoop


@dataclass(frozen=True, kw_only=True, eq=False)
class Asked:
    """A loop on the ground it is asked about."""

    terrain: Terrain
    question: Question
    further: Further
    arcs: tuple[Arc, ...] = ()

    @classmethod
    def of(cls, desk: Desk, loop: SavedLoop | None, report: Report) -> Asked:
        """Give what the desk's search is asked, and ``loop`` on the same ground."""
        from loopwright.places import arcs_of_line

        terrain, question, further = asked_of(desk.rooms, desk.document, desk.wishes, report)
        arcs = () if loop is None else arcs_of_line(terrain, loop, report)[0]
        return cls(terrain=terrain, question=question, further=further, arcs=arcs)

    def worth(self) -> FoundLoop:
        """Score the loop under the wishes as they stand."""
        from loopwright.loops.progress import scored

        return scored(self.terrain, self.question, self.further, self.arcs)

    @property
    def inputs(self) -> tuple[Terrain, Question, Further]:
        """What every function of ``away`` takes first."""
        return self.terrain, self.question, self.further


class ByHand:
    """Hand actions of one window."""

    def __init__(self, window: Window) -> None:
        self.window, self.desk = window, window.desk
        self.map = window.map_pane.map
        self._preview: tuple[StretchId, Led | None] | None = None
        self.map.pulling.connect(self._pulling)
        self.map.pulled.connect(self._pulled)

    def doings(self) -> dict[str, Callable[[], object]]:
        """Say what the actions do."""
        return {
            "lead_through": lambda: self._lead_chosen(through=True),
            "lead_around": lambda: self._lead_chosen(through=False),
            "finish": self.finish,
        }

    def _lead_chosen(self, *, through: bool) -> None:
        if self.desk.selection:
            self.lead(self.desk.selection[-1], through=through)

    def lead(self, name: StretchId, *, through: bool) -> None:
        """Lead the loop in view through a stretch, or around it."""
        shown = self.desk.shown
        if shown is not None:
            self._start(name, through=through, then=self._led)

    def _start(self, name: StretchId, *, through: bool, then: Callable[[Led | None], None]) -> None:
        def find(asked: Asked, report: Report) -> FoundLoop | None:
            inputs = (*asked.inputs, asked.arcs, name, through)
            found: FoundLoop | None = self.desk.away(lead_here, inputs, report)
            return found

        self._find(find, then)

    def finish(self) -> None:
        """Keep the chosen stretches, and find the best rest."""
        shown, chosen = self.desk.shown, self.desk.selection
        if shown is None or not chosen:
            return

        def find(asked: Asked, report: Report) -> FoundLoop | None:
            from loopwright.loops.by_hand import in_a_row

            held = tuple(arc for arc in asked.arcs if arc[0] in chosen)
            new = [name for name in chosen if name not in {stretch for stretch, _ in held}]
            locked = held or in_a_row(asked.terrain, new)
            found: FoundLoop | None = self.desk.away(
                finish_here, (*_also(asked, new), locked), report
            )
            return found

        self._find(find, self._led)

    def _find(
        self,
        find: Callable[[Asked, Report], FoundLoop | None],
        then: Callable[[Led | None], None],
    ) -> None:
        desk = self.desk
        shown, document = desk.shown, desk.document
        if shown is None:
            return

        def work(report: Report) -> Led | None:
            asked = Asked.of(desk, shown, report)
            found = find(asked, report)
            if found is None:
                return None
            return Led(found=found, before=asked.worth(), loop=saved(asked, found))

        desk.jobs.start(
            JOB, work,
            on_done=lambda led: then(led) if desk.document is document else None,
            on_failed=desk.failed,
        )  # fmt: skip

    # -- pulling with the mouse ----------------------------------------------------------------

    def _pulling(self, name: StretchId | None) -> None:
        """Work out what the loop would be worth through the stretch under the pointer."""
        self._preview = None
        self.map.show_pull("", None)
        if name is None:
            self.desk.jobs.drop(JOB)
        else:
            self._start(name, through=True, then=lambda led: self._previewed(name, led))

    def _previewed(self, name: StretchId, led: Led | None) -> None:
        if self.map.pull is None or self.map.hovered != name:
            return
        self._preview = (name, led)
        if led is None:
            self.map.show_pull(say("No loop of this length goes there"), None)
            return
        change = f"{led.found.score - led.before.score:+.1f}"
        match = units.percent(led.found.match)
        words = say("{match} of the mix, {change} points", match=match, change=change)
        self.map.show_pull(words, led.loop.line)

    def _pulled(self, name: StretchId) -> None:
        preview, self._preview = self._preview, None
        if preview is not None and preview[0] == name:
            self._led(preview[1])
        else:
            self.lead(name, through=True)

    def _led(self, led: Led | None) -> None:
        desk = self.desk
        if led is None:
            desk.warn(say("No loop of this length can be led that way"))
            return
        desk.select(())
        desk.show_loop(led.loop)
        desk.tell(
            say("Led by hand: meets {now} of the mix, {before} before. Keep it to hold on to it.",
                now=units.percent(led.found.match), before=units.percent(led.before.match))
        )  # fmt: skip


def saved(asked: Asked, found: FoundLoop, name: str = "") -> SavedLoop:
    """Give a loop the form in which it is shown and kept; it has no rank among those found."""
    from loopwright.places import lap_line

    return SavedLoop(
        name=name or say("by hand"),
        line=lap_line(asked.terrain, found.arcs),
        wishes=asked.question.wishes,
        score=found.score,
        match=found.match,
    )


def _also(asked: Asked, names: list[StretchId]) -> tuple[Terrain, Question, Further]:
    question = replace(asked.question, must=asked.question.must | set(names))
    return asked.terrain, question, asked.further
