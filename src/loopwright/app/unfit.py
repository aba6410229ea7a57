"""What a person decided about the ground, and what of it no longer fits.

Gets a desk; lists corrections and everything that lost its place, each with a way to take it off.
Promises: nothing decided is ever dropped in silence.
"""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QListWidgetItem

from loopwright import edits
from loopwright.app.desk import Desk
from loopwright.app.kinds import surface_words
from loopwright.app.parts import Fold, button, label
from loopwright.app.word_list import WordList
from loopwright.app.words import count, say
from loopwright.model.ground import Tag
from loopwright.model.network import Correction, CorrectionKind

WORDS = {
    CorrectionKind.JOIN: "Joined",
    CorrectionKind.CUT: "Cut",
    CorrectionKind.HIDE: "Left off the map",
    CorrectionKind.ONE_WAY: "One-way",
    CorrectionKind.CLOSED: "Closed to us",
    CorrectionKind.RENAME: "Named",
    CorrectionKind.DRAWN: "Drawn by hand",
}
ROWS_SHOWN = 6


class Unfit(Fold):
    """Corrections, and what lost its place."""

    def __init__(self, desk: Desk) -> None:
        super().__init__(say("Corrections"))
        self.desk = desk
        self.list = WordList(say("Corrections and what no longer fits"), shown=ROWS_SHOWN)
        self.none = label(
            say("None. Choose a stretch to make it one-way, close it, name it or leave it off."),
            "soft",
        )
        self.borrowed = label("", "soft")
        self.off = button(say("Take it back"), self._take_back)
        self.add(self.none, self.list, self.off, self.borrowed)
        self.list.currentRowChanged.connect(lambda _row: self._show_button())

    def refresh(self) -> None:
        """List what there is."""
        self.list.clear()
        document, terrain = self.desk.document, self.desk.terrain
        lost = set() if terrain is None else {id(c) for c in terrain.network.unfit}
        lost_tags = () if terrain is None else terrain.unfit
        for tag in lost_tags:
            if not tag.source:
                self._row(say("No longer fits: {what}", what=tag_words(tag)), tag)
        for correction in document.corrections:
            if correction.source:
                continue
            words = correction_words(correction)
            if id(correction) in lost:
                words = say("No longer fits: {what}", what=words)
            self._row(words, correction)
        rows = self.list.count()
        some = count(rows, "1 correction", "{n} corrections") if rows else say("Corrections")
        self.rename(some)
        self._show_borrowed()
        self.none.setVisible(not rows)
        self.list.setVisible(bool(rows))
        self.off.setVisible(bool(rows))
        self.list.fit_height()
        self._show_button()

    def _show_borrowed(self) -> None:
        """Say in one line what a map extract gave: it may be hundreds of ways."""
        document = self.desk.document
        tags = sum(bool(tag.source) for tag in document.tags)
        ways = sum(
            bool(one.source) and one.kind is CorrectionKind.DRAWN for one in document.corrections
        )
        self.borrowed.setVisible(bool(tags or ways))
        self.borrowed.setText(
            say("From a map extract: {tags}, {ways}. Menu Ground gives them back. {whose}",
                tags=count(tags, "1 ground word", "{n} ground words"),
                ways=count(ways, "1 way", "{n} ways"),
                whose=" ".join(document.settings.attributions))
        )  # fmt: skip

    def _row(self, words: str, value: Tag | Correction) -> None:
        item = QListWidgetItem(words)
        item.setData(Qt.ItemDataRole.UserRole, value)
        self.list.addItem(item)

    def _show_button(self) -> None:
        self.off.setEnabled(self.list.currentItem() is not None)

    def _take_back(self) -> None:
        item = self.list.currentItem()
        value = item.data(Qt.ItemDataRole.UserRole) if item else None
        if isinstance(value, Tag):
            self.desk.apply(say("Take a tag back"), lambda d: edits.remove_tags(d, [value]))
        elif isinstance(value, Correction):
            self.desk.apply(
                say("Take a correction back"), lambda d: edits.remove_correction(d, value)
            )


def correction_words(correction: Correction) -> str:
    """Say what a correction does."""
    words = say(WORDS[correction.kind])
    return f"{words}: {correction.value}" if correction.value else words


def tag_words(tag: Tag) -> str:
    """Say what a tag said."""
    parts = [surface_words(tag.surface) if tag.surface else "", tag.roughness or "",
             tag.width or "", "obstacles" if tag.obstacles else ""]  # fmt: skip
    return say("tag {words}", words=", ".join(part.replace("_", " ") for part in parts if part))
