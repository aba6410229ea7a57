"""Ground not ridden yet, and how many loops the ridden ground holds.

Gets a desk; says how many loops there are, which connector would open more, and lets loops use
ground nobody rode. Promises: unridden ground is used only when the person allows it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from loopwright import edits, units
from loopwright.app.desk import Desk
from loopwright.app.look import Look
from loopwright.app.parts import Fold, button, label
from loopwright.app.words import count, say
from loopwright.app.wrapping import WrapCheck
from loopwright.model.network import Network

if TYPE_CHECKING:
    from loopwright.loops.rings import Rings


class Unridden(Fold):
    """Loops held, the connector that would open more, and ground not ridden yet."""

    def __init__(self, desk: Desk, look: Look, do: Callable[[str], None]) -> None:
        super().__init__(say("Loops and ground not ridden yet"), open_=False)
        self.desk, self.look = desk, look
        self.rings: Rings | None = None
        self._counted: Network | None = None
        self.holds = label("")
        self.opens = label("", "soft")
        self.named = button(say("Draw that connector"), lambda: do("draw_named"))
        self.draw = button(say("Draw one on the map"), lambda: do("draw"))
        self.extract = button(say("Read a map extract…"), lambda: do("extract"))
        self.there = label("", "soft")
        self.allow = WrapCheck(say("Loops may use ground not ridden yet"))
        self.allow.toggled.connect(self._allow)
        self.add(self.holds, self.opens, self.named, self.draw, self.extract)
        self.add(self.there, self.allow)

    def refresh(self) -> None:
        """Count again when the ground is another; say what is so."""
        terrain = self.desk.terrain
        for push in (self.draw, self.extract):
            push.setEnabled(terrain is not None)
        blocked = self.allow.blockSignals(True)  # noqa: FBT003 - Qt's own setter
        self.allow.setChecked(self.desk.wishes.use_unridden)
        self.allow.blockSignals(blocked)
        if terrain is None:
            self.rings = self._counted = None
        elif terrain.network is not self._counted:
            self._counted = terrain.network
            self._count(terrain.network)
        self._show()

    def _count(self, network: Network) -> None:
        work = partial(self.desk.rooms.rings, network)
        self.desk.jobs.start("rings", work, on_done=self._known, on_failed=self.desk.failed)

    def _known(self, rings: Rings) -> None:
        self.rings = rings
        few = len(self.desk.document.rides) <= 2 or rings.loops < 2
        if few and self.desk.terrain is not None:
            self.head.setChecked(True)
        self._show()

    def _show(self) -> None:
        rings, terrain = self.rings, self.desk.terrain
        self.holds.setText(holds_words(rings) if rings else say("No ground yet: import rides."))
        connector = rings.connector if rings else None
        self.opens.setVisible(connector is not None)
        self.named.setVisible(connector is not None)
        if connector is not None:
            look = self.look.units
            self.opens.setText(
                say("A connector of {length} would bring {more} more into loops. It is only a line "
                    "on the map: look whether it can and may be ridden.",
                    length=units.short(connector.length_m, look),
                    more=units.short(connector.opens_m, look))
            )  # fmt: skip
        new = [s for s in terrain.network.stretches if s.unridden] if terrain else []
        metres = sum(terrain.lengths_m[s.id] for s in new) if terrain else 0.0
        self.there.setText(
            say("{n} not ridden yet, {length}. The first ride over them takes their place.",
                n=count(len(new), "1 stretch", "{n} stretches"),
                length=units.short(metres, self.look.units))
        )  # fmt: skip
        self.there.setVisible(bool(new))
        self.allow.setVisible(bool(new) or self.desk.wishes.use_unridden)

    def _allow(self, on: bool) -> None:  # noqa: FBT001 - a Qt slot
        wishes = replace(self.desk.wishes, use_unridden=on)
        words = say("Use ground not ridden yet") if on else say("Keep to ridden ground")
        self.desk.apply(words, lambda document: edits.set_wishes(document, wishes))


def holds_words(rings: Rings) -> str:
    """Say how many loops the ground holds."""
    if rings.loops == 0:
        return say("This ground holds no loop yet: every way ends or turns back.")
    return count(
        rings.loops,
        "This ground holds one loop.",
        "This ground holds {n} independent loops, and what can be put together of them.",
    )
