"""Tag after a ride: the ride goes by stretch by stretch, one key each.

Gets a cleaned ride; shows each ridden part on the map and takes a key for its ground. Promises: the
keyboard is enough; each part is one step that can be undone; skip and back never lose anything.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QProgressBar

from loopwright import edits, units
from loopwright.app.brush import Brush
from loopwright.app.brush_panel import BrushPanel, key_word
from loopwright.app.desk import Desk
from loopwright.app.kinds import roughness_words, surface_words
from loopwright.app.look import Look
from loopwright.app.parts import Column, button, label, row
from loopwright.app.tagging import part_xy, ridden_tag, said_again
from loopwright.app.words import say
from loopwright.model.ground import Tag, Terrain
from loopwright.model.track import CleanTrack

if TYPE_CHECKING:
    from loopwright.features.replay import RiddenPart


class TagRide(Column):
    """The column while a ride goes by."""

    def __init__(self, desk: Desk, look: Look, leave: Callable[[], None]) -> None:
        super().__init__(say("Tag after a ride"))
        self.desk, self.look, self._leave = desk, look, leave
        self._doings: Mapping[str, Callable[[], None]] = {
            "Space": lambda: self.step(1),
            "Backspace": lambda: self.step(-1),
            "Enter": self.say_same,
            "Escape": self.leave,
        }
        self.parts: tuple[RiddenPart, ...] = ()
        self.place = 0
        self._terrain: Terrain | None = None
        self._on: date | None = None
        self.title = label("", "head")
        self.where = label("")
        self.known = label("", "soft")
        self.bar = QProgressBar()
        self.bar.setTextVisible(False)
        self.bar.setAccessibleName(say("How far through the ride"))
        self.brush = BrushPanel()
        self.brush.changed.connect(self._said)
        self._lay_out()

    def _lay_out(self) -> None:
        self.add(self.title, self.bar, self.where, self.known, self.brush)
        self.same = button(say("Same as last time (Enter)"), self.say_same)
        self.skip = button(say("Skip (space)"), lambda: self.step(1))
        self.back = button(say("Back (backspace)"), lambda: self.step(-1))
        self.done = button(say("Done (Escape)"), self.leave)
        self.add(label(say("A number tags the surface and goes on. Letters add roughness and the "
                           "like first."), "faint"))  # fmt: skip
        self.lines.addLayout(row(self.skip, self.back))
        self.add(self.same, self.done)
        self.close_up()

    def begin(self, title: str, track: CleanTrack, *, on: date | None) -> None:
        """Start at the first part of a ride."""
        from loopwright.features.replay import replay

        terrain = self.desk.terrain
        if terrain is None:
            return
        self._terrain, self._on, self.place = terrain, on, 0
        self.parts = tuple(part for part in replay(track, terrain) if not part.again)
        self.title.setText(title)
        self.bar.setRange(0, max(1, len(self.parts)))
        self.brush.clear()
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setFocus()
        self._show()

    @property
    def part(self) -> RiddenPart | None:
        """The part in question, None at the end."""
        return self.parts[self.place] if self.place < len(self.parts) else None

    def _show(self) -> None:
        part = self.part
        self.bar.setValue(self.place)
        for push in (self.same, self.skip):
            push.setEnabled(part is not None)
        self.back.setEnabled(self.place > 0)
        if part is None:
            self.where.setText(say("That was the whole ride."))
            self.known.setText("")
            self.desk.asked.show(None)
            return
        self.where.setText(
            say("{n} of {all}: {length}", n=self.place + 1, all=len(self.parts),
                length=units.short(part.length_m, self.look.units))
        )  # fmt: skip
        self.known.setText(say("Known so far: {what}", what=known_words(part)))
        if self._terrain is not None:
            self.desk.asked.show(part_xy(self._terrain, part))

    def step(self, by: int) -> None:
        """Go on or back without saying anything."""
        self.place = min(len(self.parts), max(0, self.place + by))
        self.brush.clear()
        self._show()

    def press(self, word: str) -> bool:
        """Take a key by its word."""
        if word in self._doings:
            self._doings[word]()
            return True
        return self.part is not None and self.brush.press(word)

    def _said(self, before: Brush, after: Brush) -> None:
        if before.surface != after.surface:
            self._apply(lambda terrain, part: (ridden_tag(terrain, part, after, on=self._on),))

    def say_same(self) -> None:
        """Say again what is known, with what letters added, and go on."""
        brush = self.brush.brush
        if not brush.empty:
            self._apply(lambda terrain, part: (ridden_tag(terrain, part, brush, on=self._on),))
        else:
            self._apply(lambda terrain, part: said_again(terrain, part, on=self._on))

    def _apply(self, tags: Callable[[Terrain, RiddenPart], tuple[Tag, ...]]) -> None:
        part, terrain = self.part, self._terrain
        if part is None or terrain is None:
            return
        said = tags(terrain, part)
        self.step(1)
        if said:
            self.desk.apply(
                say("Tag a stretch of a ride"), lambda document: edits.add_tags(document, said)
            )

    def leave(self) -> None:
        """Go back to the Ground place."""
        self.desk.asked.show(None)
        self._leave()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Take the keys of the flow."""
        if not self.press(key_word(Qt.Key(event.key()))):
            super().keyPressEvent(event)


def known_words(part: RiddenPart) -> str:
    """Say what is known of a ridden part."""
    words = dict.fromkeys(
        surface_words(span.surface)
        + (f" ({roughness_words(span.roughness)})" if span.roughness != "unknown" else "")
        for span in part.spans
    )
    return ", ".join(words) or surface_words("unknown")
