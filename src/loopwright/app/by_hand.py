"""Leading the loop by hand: through a stretch, around one; and why a loop is what it is.

Gets a window with a loop in view and a stretch; gives the nearest legal loop, scored, or what each
stretch adds. Promises: the new loop is judged by the same rules, and the change in score is told.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog, QVBoxLayout

from loopwright import units
from loopwright.app.parts import button, label
from loopwright.app.stretch_words import title
from loopwright.app.tables import Table
from loopwright.app.words import say
from loopwright.jobs import Report
from loopwright.model.ground import Terrain
from loopwright.model.ids import StretchId
from loopwright.model.loops import FoundLoop, SavedLoop

if TYPE_CHECKING:
    from loopwright.app.window import Window
    from loopwright.loops.explain import Part


@dataclass(frozen=True, kw_only=True, eq=False)
class _Led:
    terrain: Terrain
    found: FoundLoop
    loop: SavedLoop


class ByHand:
    """Hand and explain actions of one window."""

    def __init__(self, window: Window) -> None:
        self.window, self.desk = window, window.desk
        window.map_pane.map.pulled.connect(lambda name: self.lead(name, through=True))

    def doings(self) -> dict[str, Callable[[], object]]:
        """Say what the actions do."""
        return {
            "lead_through": lambda: self._lead_chosen(through=True),
            "lead_around": lambda: self._lead_chosen(through=False),
            "why": self.why,
        }

    def _lead_chosen(self, *, through: bool) -> None:
        if self.desk.selection:
            self.lead(self.desk.selection[-1], through=through)

    def lead(self, name: StretchId, *, through: bool) -> None:
        """Lead the loop in view through a stretch, or around it."""
        desk = self.desk
        shown, document = desk.shown, desk.document
        if shown is None:
            return

        def work(report: Report) -> _Led | None:
            from loopwright.loops.by_hand import drag_through, lead_around
            from loopwright.pipeline import saved_loops

            terrain, question = desk.rooms.asked(document, desk.wishes, report)
            arcs, _start = desk.rooms.arcs(document, shown)
            lead = drag_through if through else lead_around
            found = lead(terrain, question, arcs, stretch=name, report=report)
            if found is None:
                return None
            (loop,) = saved_loops(terrain, desk.wishes, [found])
            return _Led(terrain=terrain, found=found, loop=loop)

        desk.jobs.start(
            "by hand", work, on_done=lambda led: self._led(shown, led), on_failed=desk.failed
        )

    def _led(self, before: SavedLoop, led: _Led | None) -> None:
        desk = self.desk
        if led is None:
            desk.warn(say("No loop of this length can be led that way"))
            return
        mine = SavedLoop(
            name=say("by hand"),
            line=led.loop.line,
            wishes=led.loop.wishes,
            score=led.found.score,
            match=led.found.match,
        )
        desk.select(())
        desk.show_loop(mine)
        desk.tell(
            say("Led by hand: meets {now} of the mix, {before} before. Keep it to hold on to it.",
                now=units.percent(mine.match), before=units.percent(before.match))
        )  # fmt: skip

    def why(self) -> None:
        """Show what each stretch of the loop in view adds."""
        desk = self.desk
        shown, document = desk.shown, desk.document
        if shown is None:
            return

        def work(report: Report) -> tuple[Terrain, tuple[Part, ...]]:
            from loopwright.loops.explain import parts_of

            terrain, question = desk.rooms.asked(document, desk.wishes, report)
            arcs, _start = desk.rooms.arcs(document, shown)
            return terrain, parts_of(terrain, question, arcs)

        desk.jobs.start("why", work, on_done=lambda answer: self._show(*answer),
                        on_failed=desk.failed)  # fmt: skip

    def _show(self, terrain: Terrain, parts: tuple[Part, ...]) -> None:
        WhyDialog(self.window, terrain, parts).show()


class WhyDialog(QDialog):
    """What each stretch adds, in riding order."""

    def __init__(self, window: Window, terrain: Terrain, parts: tuple[Part, ...]) -> None:
        super().__init__(window)
        self.setWindowTitle(say("Why this loop"))
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        names = {s.id: title(s) for s in terrain.network.stretches}
        look = window.look.units
        heads = [say("Stretch"), say("Length"), say("Adds"), say("Costs")]
        self.table = Table(say("What each stretch adds"), heads)
        self.table.show_rows(
            [
                [names.get(p.arc[0], p.arc[0]), units.short(p.length_m, look),
                 f"{p.points:.1f}", f"{p.cost:.1f}"]
                for p in parts
            ]
        )  # fmt: skip
        hint = say(
            "Points of 100: what the match would lose without the stretch, and what its length "
            "costs. A stretch that adds nothing may still be needed to get round."
        )
        lines = QVBoxLayout(self)
        lines.addWidget(label(hint, "soft"))
        lines.addWidget(self.table)
        lines.addWidget(button(say("Close"), self.close))
        self.resize(window.look.px(460), window.look.px(480))
