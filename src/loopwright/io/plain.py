"""Text from outside, made safe to show.

Gets any text; gives one line of printable characters of bounded length. Promises: no control
character, line break or direction mark gets through; markup stays what it is: plain characters.
"""

from __future__ import annotations

from pathlib import Path

from loopwright.errors import one_line

NAME_LIMIT = 200


def plain(words: str, *, limit: int = NAME_LIMIT) -> str:
    """Return ``words`` on one line, without control characters, cut to ``limit`` characters."""
    line = one_line(words[: 4 * limit])
    return line if len(line) <= limit else line[: limit - 1] + "\N{HORIZONTAL ELLIPSIS}"


def file_name(path: Path) -> str:
    """Return the name of a file as it is, or made plain if it holds what must not be shown."""
    return path.name if path.name.isprintable() else plain(path.name)
