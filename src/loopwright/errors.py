"""Errors, split by whose fault it is.

LoopwrightError
    WorldError: bad input, full disk, damaged file. Shown as one friendly line, exit 1.
    UsageError: the command was put wrongly. One line, exit 2.
Anything else is our fault and gets a crash report.
"""

from __future__ import annotations


class LoopwrightError(Exception):
    """Base of what is told to people in one line."""


class WorldError(LoopwrightError):
    """Something outside is wrong: ``where: what is wrong; what to do``."""

    def __init__(self, where: str, what: str, remedy: str) -> None:
        """Keep the three parts; each is a short phrase without a closing stop."""
        super().__init__(one_line(f"{where}: {what}; {remedy}"))
        self.where = where
        self.what = what
        self.remedy = remedy

    def __reduce__(self) -> tuple[type[WorldError], tuple[str, str, str]]:
        """Pickle by parts, so that it crosses the worker process whole."""
        return (type(self), (self.where, self.what, self.remedy))


class NoAnswerError(WorldError):
    """The honest answer is no: no usable track, no loop in that window."""


class DamagedError(WorldError):
    """A saved file is damaged or not ours."""


class UsageError(LoopwrightError):
    """The command was put wrongly."""


def one_line(words: str) -> str:
    """Fold control characters and line breaks, so that nothing can forge a second line."""
    return " ".join("".join(c if c.isprintable() else " " for c in words).split())
