"""Preferences: theme, text size, units.

Gets what is remembered; changes it and the window's look at once. Promises: nothing to confirm,
nothing to restart.
"""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QVBoxLayout

from loopwright.app.look import Look
from loopwright.app.parts import Choice, add_field, form
from loopwright.app.remembered import SCALES, Remembered
from loopwright.app.window import Window
from loopwright.app.words import say
from loopwright.io.preferences import THEMES
from loopwright.units import Units, percent

THEME_WORDS = {"system": "As the system has it", "light": "Light", "dark": "Dark"}
UNIT_WORDS = {
    Units.METRIC: "Metric (km, m, km/h)",
    Units.IMPERIAL: "Imperial (miles, feet, mph)",
}


class PreferencesDialog(QDialog):
    """The dialog; changes apply at once."""

    def __init__(
        self, window: Window, remembered: Remembered, change_look: Callable[[Look], None]
    ) -> None:
        super().__init__(window)
        self._window, self._remembered, self._change = window, remembered, change_look
        self.setWindowTitle(say("Preferences"))
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.theme = self._box(say("Theme"), [say(THEME_WORDS[name]) for name in THEMES])
        self.theme.setCurrentIndex(THEMES.index(remembered.preferences.theme))
        self.text = self._box(say("Text size"), [percent(scale) for scale in SCALES])
        near = min(SCALES, key=lambda scale: abs(scale - remembered.preferences.text_scale))
        self.text.setCurrentIndex(SCALES.index(near))
        self.units = self._box(say("Units"), [say(words) for words in UNIT_WORDS.values()])
        self.units.setCurrentIndex(list(UNIT_WORDS).index(remembered.units))
        lines = form()
        for box in (self.theme, self.text, self.units):
            add_field(lines, box.accessibleName(), box)
            box.activated.connect(lambda _place: self._apply())
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        buttons.rejected.connect(self.close)
        whole = QVBoxLayout(self)
        whole.addLayout(lines)
        whole.addWidget(buttons)

    def _box(self, name: str, words: list[str]) -> Choice:
        box = Choice()
        box.setAccessibleName(name)
        box.addItems(words)
        return box

    def _apply(self) -> None:
        record = self._remembered
        record.change(
            theme=THEMES[self.theme.currentIndex()],
            text_scale=SCALES[self.text.currentIndex()],
            units=list(UNIT_WORDS)[self.units.currentIndex()].value,
        )
        look = record.look()
        self._change(look)
        self._window.dress(look)
