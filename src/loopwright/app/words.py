"""Every text people read goes through here, ready for translation.

Gets English sentences with ``{named}`` gaps; gives the sentence in the chosen language.
Promises: no text is built from halves, so a translator sees whole sentences.
"""

from __future__ import annotations

from PySide6.QtCore import QCoreApplication

CONTEXT = "loopwright"


def say(sentence: str, **values: object) -> str:
    """Translate ``sentence`` and fill its gaps."""
    words = QCoreApplication.translate(CONTEXT, sentence)
    return words.format(**values) if values else words


def count(number: int, one: str, many: str) -> str:
    """Say how many: ``{n}`` in either sentence stands for the number."""
    return say(one if number == 1 else many, n=number)


def capital(words: str) -> str:
    """Begin with a capital, leaving the rest as it is."""
    return words[:1].upper() + words[1:]
