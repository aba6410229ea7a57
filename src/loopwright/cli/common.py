"""What every command shares: areas, loops by name, progress and printing.

Promises: problems are one line on stderr; progress only when stderr is a terminal.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from loopwright.errors import NoAnswerError, UsageError, WorldError

if TYPE_CHECKING:
    from loopwright.model.document import Document
    from loopwright.model.loops import SavedLoop
    from loopwright.pipeline import Pipeline


class Progress:
    """A report that writes one changing line on a terminal and nothing elsewhere."""

    def __init__(self) -> None:
        self._shown = sys.stderr.isatty()

    def step(self, share: float, words: str) -> None:
        """Show how far the work is."""
        if self._shown:
            sys.stderr.write(f"\r\x1b[K{share:4.0%} {words}")
            sys.stderr.flush()

    def best(self, result: object) -> None:
        """Say nothing of intermediate results."""

    def check(self) -> None:
        """Never cancelled; an interrupt ends the program."""

    def cancelled(self) -> bool:
        """Never cancelled."""
        return False

    def done(self) -> None:
        """Clear the line."""
        if self._shown:
            sys.stderr.write("\r\x1b[K")
            sys.stderr.flush()


def complain(words: object) -> None:
    """Print one problem on one line of stderr."""
    sys.stderr.write(f"{words}\n")


def open_area(path: Path) -> Document:
    """Load an area that must exist."""
    from loopwright.io.area_file import load_area

    if not path.exists():
        raise WorldError(str(path), "no such area", "make it with: loopwright import AREA RIDES")
    return load_area(path)


def named_loop(document: Document, wanted: str) -> SavedLoop:
    """Find a loop by its name or by its rank in the last search."""
    for loop in (*document.kept, *document.found):
        if wanted in {loop.name, str(loop.rank)}:
            return loop
    names = ", ".join(loop.name for loop in (*document.kept, *document.found))
    raise NoAnswerError(
        document.name,
        f"no loop {wanted!r} in this area",
        f"choose one of: {names}" if names else "search first with: loopwright find AREA",
    )


def the_day(text: str, what: str) -> date:
    """Read a date such as 2027-05-16."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        message = f"{what}: {text!r} is not a date; write it as 2027-05-16"
        raise UsageError(message) from None


def the_moment(text: str | None) -> datetime:
    """Read ``--now``, else ask the clock. Without a zone it is UTC."""
    if text is None:
        return datetime.now(UTC)
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        message = f"--now: {text!r} is not a time; write it as 2027-05-16T08:00:00"
        raise UsageError(message) from None
    return moment if moment.tzinfo else moment.replace(tzinfo=UTC)


def table(rows: Sequence[Sequence[str]], *, left: frozenset[int] = frozenset({0})) -> str:
    """Lay out rows of words in columns; columns not in ``left`` are right-aligned."""
    widths = [max(len(row[k]) for row in rows) for k in range(len(rows[0]))]
    return "\n".join(
        "  ".join(
            cell.ljust(width) if k in left else cell.rjust(width)
            for k, (cell, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in rows
    )


def pipeline_with_cache() -> Pipeline:
    """Make a pipeline that keeps built networks in the user's cache folder."""
    from loopwright.cached import cached_pipeline

    return cached_pipeline()
