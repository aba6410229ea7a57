"""The brush: buttons for every ground word, each with its key.

Gets nothing; gives the brush in hand. Promises: a button and its key do the same; what is in hand
is said in words.
"""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from loopwright.app.brush import (
    FLAG_KEYS,
    ROUGH_KEYS,
    SURFACE_KEYS,
    WIDTH_KEYS,
    Brush,
)
from loopwright.app.flow import Flow
from loopwright.app.kinds import roughness_words, surface_words
from loopwright.app.parts import label
from loopwright.app.words import say
from loopwright.app.wrapping import WrapTool


class BrushPanel(QWidget):
    """Buttons for the brush. ``changed`` gives the brush before and after."""

    changed = Signal(object, object)

    def __init__(self) -> None:
        super().__init__()
        self.brush = Brush()
        self._buttons: dict[str, WrapTool] = {}
        lines = QVBoxLayout(self)
        lines.setContentsMargins(0, 0, 0, 0)
        lines.setSpacing(4)
        for title, words in (
            (say("Surface"), {k: surface_words(v) for k, v in SURFACE_KEYS.items()}),
            (say("Roughness"), {k: roughness_words(v) for k, v in ROUGH_KEYS.items()}),
            (say("Width and the like"), {
                **{k: say(v) for k, v in WIDTH_KEYS.items()},
                **{k: say(v) for k, v in FLAG_KEYS.items()},
            }),
        ):  # fmt: skip
            lines.addWidget(label(title, "faint"))
            lines.addLayout(self._grid(words))
        self.said = label("", "soft")
        lines.addWidget(self.said)
        self._show()

    def _grid(self, words: dict[str, str]) -> Flow:
        grid = Flow(even=True)
        grid.setSpacing(4)
        for key, text in words.items():
            tool = WrapTool()
            tool.setText(f"{key}  {text}")
            tool.setCheckable(True)
            tool.setAccessibleName(say("{word}, key {key}", word=text, key=key))
            policy = tool.sizePolicy()
            policy.setHorizontalPolicy(policy.Policy.Expanding)
            tool.setSizePolicy(policy)
            tool.clicked.connect(lambda _on=False, key=key: self.press(key))
            grid.addWidget(tool)
            self._buttons[key] = tool
        return grid

    def press(self, key: str) -> bool:
        """Take a key; True if it changed the brush."""
        brush = self.brush.pressed(key)
        if brush is None:
            return False
        before, self.brush = self.brush, brush
        self._show()
        self.changed.emit(before, brush)
        return True

    def clear(self) -> None:
        """Empty the brush."""
        self.brush = Brush()
        self._show()

    def _show(self) -> None:
        brush = self.brush
        held = {brush.surface, brush.roughness, brush.width}
        flags = {key: bool(getattr(brush, name)) for key, name in FLAG_KEYS.items()}
        table = {**SURFACE_KEYS, **ROUGH_KEYS, **WIDTH_KEYS}
        for key, tool in self._buttons.items():
            tool.setChecked(flags[key] if key in flags else table[key] in held)
        self.said.setText(say("In hand: {words}", words=brush.words()))


NAMED_KEYS = {
    Qt.Key.Key_Space: "Space",
    Qt.Key.Key_Backspace: "Backspace",
    Qt.Key.Key_Return: "Enter",
    Qt.Key.Key_Enter: "Enter",
    Qt.Key.Key_Escape: "Escape",
}


def key_word(key: Qt.Key) -> str:
    """Give the letter or digit of a key, the name of a few more, empty for others."""
    if key in NAMED_KEYS:
        return NAMED_KEYS[key]
    value = key.value
    return chr(value) if ord("0") <= value <= ord("9") or ord("A") <= value <= ord("Z") else ""
