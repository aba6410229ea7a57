"""Names from anywhere, shown as they are: markup in them is never obeyed.

Gets words; gives labels and tips. Promises: loads little, for the window's frame waits for it.
"""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel


def bare_label(words: str = "") -> QLabel:
    """Give text on one line. Names come from anywhere: markup in them is shown, never obeyed."""
    text = QLabel()
    text.setTextFormat(Qt.TextFormat.PlainText)
    text.setText(words)
    return text


def tip(words: str) -> str:
    """Make words safe for a tooltip, which would otherwise obey markup in a name."""
    if "<" not in words:
        return words
    from html import escape  # 3 ms of tables that the window's frame need not wait for

    return "<qt>" + escape(words).replace("\n", "<br>") + "</qt>"
