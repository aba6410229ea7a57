"""Questions the window asks people, behind one small protocol.

Gets words, gives answers; None or False is always "no, leave it". Promises: the window never opens
a modal dialog except through this, so tests answer without one.
"""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum
from functools import partial
from pathlib import Path
from typing import Protocol

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QDialog,
    QFileDialog,
    QInputDialog,
    QMessageBox,
    QVBoxLayout,
    QWidget,
)

from loopwright.app.parts import button, label
from loopwright.app.sheet import ReadingSheet
from loopwright.app.words import say
from loopwright.io.plain import plain

READING_LETTERS = 80
"""Letters to a line, as far as the screen is wide enough."""
AREA_FILES = "Loopwright areas (*.loopwright)"
MAP_FILES = "OpenStreetMap extracts (*.osm *.osm.pbf *.pbf);;All files (*)"
RIDE_FILES = "Recorded rides (*.gpx *.fit *.GPX *.FIT);;All files (*)"


class Leave(StrEnum):
    """What to do with unsaved work."""

    SAVE = "save"
    DROP = "drop"
    STAY = "stay"


class Dialogs(Protocol):
    """Everything the window may ask."""

    def open_file(self, title: str, kinds: str) -> Path | None:
        """Ask for one file to read."""

    def open_files(self, title: str, kinds: str) -> list[Path]:
        """Ask for files to read."""

    def open_folder(self, title: str) -> Path | None:
        """Ask for a folder to read."""

    def save_file(self, title: str, suggested: str, kinds: str) -> Path | None:
        """Ask where to write."""

    def text(self, title: str, words: str, value: str = "") -> str | None:
        """Ask for a word or a few."""

    def pick(self, title: str, words: str, among: Sequence[str]) -> int | None:
        """Ask for one of several."""

    def leave(self, name: str) -> Leave:
        """Ask what to do with unsaved work."""

    def show(self, title: str, words: str) -> None:
        """Show words of our own to read, as HTML."""


FEW_CHOICES = 3
CHOICE_LETTERS = 46


class ChoiceDialog(QDialog):
    """A question with a button for each choice; ``picked`` is the one pressed, None if left."""

    def __init__(self, parent: QWidget, title: str, words: str, among: Sequence[str]) -> None:
        super().__init__(parent)
        self.setWindowTitle(title)
        self.picked: int | None = None
        lines = QVBoxLayout(self)
        lines.addWidget(label(words))
        for place, choice in enumerate(among):
            lines.addWidget(button(choice, partial(self._take, place), main=place == 0))
        lines.addWidget(button(say("Cancel"), self.reject))
        self.setMinimumWidth(parent.fontMetrics().averageCharWidth() * CHOICE_LETTERS)

    def _take(self, place: int) -> None:
        self.picked = place
        self.accept()


class RealDialogs:
    """Dialogs on the screen."""

    def __init__(self, parent: QWidget) -> None:
        self._parent = parent

    def open_file(self, title: str, kinds: str) -> Path | None:
        """Ask for one file to read."""
        name, _kind = QFileDialog.getOpenFileName(self._parent, title, "", kinds)
        return Path(name) if name else None

    def open_files(self, title: str, kinds: str) -> list[Path]:
        """Ask for files to read."""
        names, _kind = QFileDialog.getOpenFileNames(self._parent, title, "", kinds)
        return [Path(name) for name in names]

    def open_folder(self, title: str) -> Path | None:
        """Ask for a folder to read."""
        name = QFileDialog.getExistingDirectory(self._parent, title)
        return Path(name) if name else None

    def save_file(self, title: str, suggested: str, kinds: str) -> Path | None:
        """Ask where to write."""
        name, _kind = QFileDialog.getSaveFileName(self._parent, title, suggested, kinds)
        return Path(name) if name else None

    def text(self, title: str, words: str, value: str = "") -> str | None:
        """Ask for a word or a few."""
        answer, fine = QInputDialog.getText(self._parent, title, words, text=value)
        return plain(answer) or None if fine else None

    def pick(self, title: str, words: str, among: Sequence[str]) -> int | None:
        """Ask for one of several: few are buttons, many a list."""
        if len(among) <= FEW_CHOICES:
            return self._pick_button(title, words, among)
        answer, fine = QInputDialog.getItem(self._parent, title, words, list(among), 0, False)  # noqa: FBT003 - Qt's own
        return list(among).index(answer) if fine else None

    def _pick_button(self, title: str, words: str, among: Sequence[str]) -> int | None:
        dialog = ChoiceDialog(self._parent, title, words, among)
        dialog.exec()
        dialog.deleteLater()
        return dialog.picked

    def leave(self, name: str) -> Leave:
        """Ask what to do with unsaved work."""
        box = QMessageBox(self._parent)
        box.setTextFormat(Qt.TextFormat.PlainText)
        box.setText(say("{name} holds changes that are not saved.", name=name))
        kinds = QMessageBox.StandardButton
        box.setStandardButtons(kinds.Save | kinds.Discard | kinds.Cancel)
        answer = box.exec()
        if answer == kinds.Save.value:
            return Leave.SAVE
        return Leave.DROP if answer == kinds.Discard.value else Leave.STAY

    def show(self, title: str, words: str) -> None:
        """Show words of our own to read, as HTML."""
        letter = self._parent.fontMetrics().averageCharWidth()
        sheet = ReadingSheet(self._parent, title, words, wide=letter * READING_LETTERS)
        sheet.exec()
        sheet.deleteLater()
