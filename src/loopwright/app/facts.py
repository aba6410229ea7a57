"""Numbers of every loop on offer: length, climb, density, lap time.

Gets a desk; works the numbers out in a job, loop by loop. Promises: numbers belong to the terrain
and rider they were worked out for; a newer question replaces an older one.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import TYPE_CHECKING, TypeAlias, cast

from PySide6.QtCore import QObject, Signal

from loopwright.app.jobs import InTurn
from loopwright.errors import WorldError
from loopwright.jobs import Report
from loopwright.model.document import Document
from loopwright.model.loops import SavedLoop

if TYPE_CHECKING:
    from loopwright.app.desk import Desk
    from loopwright.pipeline import Pipeline
    from loopwright.reporting import LoopFacts

Table: TypeAlias = "dict[int, LoopFacts]"


class Facts(QObject):
    """Facts by loop. ``changed`` tells that some are new."""

    changed = Signal()

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._desk = desk
        self._turns = InTurn()
        self._table: Table = {}
        self._asked: tuple[object, ...] = ()
        desk.plan_changed.connect(self.ask)
        desk.candidates_changed.connect(self.ask)
        desk.terrain_changed.connect(self.forget)

    def of(self, loop: SavedLoop) -> LoopFacts | None:
        """Give what is known of a loop."""
        found = self._table.get(id(loop))
        return found if found is not None and found.loop is loop else None

    def forget(self) -> None:
        """Drop everything: the ground is another."""
        self._desk.jobs.drop("facts")
        self._table, self._asked = {}, ()

    def ask(self) -> None:
        """Work out the loops on offer, kept and in view, once the loop in view has its plan."""
        desk = self._desk
        loops = (*(c.loop for c in desk.candidates), *desk.document.kept)
        if desk.shown is not None and all(desk.shown is not loop for loop in loops):
            loops = (desk.shown, *loops)
        asked = (desk.terrain, desk.document.rider, *loops)
        same = len(asked) == len(self._asked) and all(
            a is b for a, b in zip(asked, self._asked, strict=True)
        )
        if desk.plan is None or same:
            return
        ground_and_rider = zip(asked[:2], self._asked[:2], strict=False)
        known = dict(self._table) if all(a is b for a, b in ground_and_rider) else {}
        self._asked = asked
        document = desk.document

        def work(report: Report) -> Table:
            # One replaced stops only between two loops; beside it, both would be slower.
            with self._turns.turn(report):
                return facts_table(cast("Pipeline", desk.rooms), document, loops, report, known)

        desk.jobs.start("facts", work, on_done=self._known, on_best=self._known,
                        on_failed=desk.failed)  # fmt: skip

    def _known(self, table: Table) -> None:
        self._table = dict(table)
        self.changed.emit()


def facts_table(
    rooms: Pipeline,
    document: Document,
    loops: tuple[SavedLoop, ...],
    report: Report,
    known: Mapping[int, LoopFacts] = MappingProxyType({}),
) -> Table:
    """Work out loops one after the other, showing what is there so far; ``known`` ones stay."""
    from loopwright.reporting import facts_of

    held = ((loop, known.get(id(loop))) for loop in loops)
    table: Table = {id(loop): facts for loop, facts in held if facts and facts.loop is loop}
    for number, loop in enumerate(loops):
        if id(loop) in table:
            continue
        report.check()
        report.step(number / len(loops), loop.name)
        try:
            table[id(loop)] = facts_of(rooms, document, loop, report)
        except WorldError:
            continue
        report.best(dict(table))
    return table
