"""Two loops side by side, and what a mix asks beside what each gives.

Gets loops with their facts; gives rows of words. Promises: the same kinds in the same order for
both; what is unknown is left open.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import QSize, Qt
from PySide6.QtWidgets import QDialog, QVBoxLayout

from loopwright import units
from loopwright.app.kinds import kind
from loopwright.app.parts import button, label
from loopwright.app.sheet import fit_screen
from loopwright.app.tables import Table
from loopwright.app.window import Window
from loopwright.app.words import say
from loopwright.model.wishes import Mix
from loopwright.units import UNKNOWN, Units

if TYPE_CHECKING:
    from loopwright.reporting import LoopFacts


def side_by_side(facts: Sequence[LoopFacts], mix: Mix, look: Units) -> list[list[str]]:
    """Give rows: what, wanted, and one column a loop."""
    rows = [
        [say("Match"), "", *(units.percent(f.loop.match) for f in facts)],
        [say("Length"), "", *(units.distance(f.length_m, look) for f in facts)],
        [say("Climb"), "", *(units.short(f.ascent_m, look) for f in facts)],
        [say("Lap time"), "", *(_time(f.lap_time_s) for f in facts)],
        [say("Wanted features a km"), "", *(f"{f.density_per_km:.1f}" for f in facts)],
        [say("Lap inside them"), "", *(units.percent(f.inside_share) for f in facts)],
    ]
    for key, want in mix.targets.items():
        what = kind(key)
        given = [what.amount(f.judged.amounts.get(key, 0.0), look) for f in facts]
        rows.append([what.name, what.amount(want, look), *given])
    return rows


def _time(seconds: float | None) -> str:
    return UNKNOWN if seconds is None else units.duration(seconds)


class CompareDialog(QDialog):
    """The table of loops."""

    def __init__(self, window: Window, facts: Sequence[LoopFacts]) -> None:
        super().__init__(window)
        self.setWindowTitle(say("Loops side by side"))
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        names = [f.loop.name for f in facts]
        self.table = Table(say("Loops side by side"), [say("What"), say("Wanted"), *names])
        self.table.show_rows(side_by_side(facts, window.desk.wishes.mix, window.look.units))
        lines = QVBoxLayout(self)
        lines.addWidget(label(say("Loops side by side"), "head"))
        lines.addWidget(self.table, 1)
        lines.addWidget(button(say("Close"), self.close))
        self.table.let_shrink(window.look.px(120))
        fit_screen(self, QSize(window.look.px(260 + 110 * len(names)), window.look.px(460)))


def compare(window: Window) -> None:
    """Show all loops on offer and kept side by side."""
    desk = window.desk
    loops = [*(c.loop for c in desk.candidates), *desk.document.kept]
    facts = [fact for fact in (desk.facts.of(loop) for loop in loops) if fact is not None]
    if facts:
        CompareDialog(window, facts).show()
    else:
        desk.tell(say("The numbers are being worked out, one moment"))
