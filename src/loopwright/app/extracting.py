"""A local map extract read into the area: ground words, and trails not ridden yet.

Gets a window; reads the file in a job. Promises: words of the map never win over a person's own;
what was taken is told with the map's attribution, is one step, and can be given back whole.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from loopwright.app.dialogs import MAP_FILES
from loopwright.app.window import Window
from loopwright.app.words import count, say
from loopwright.jobs import Report
from loopwright.model.document import Document

if TYPE_CHECKING:
    from loopwright.pipeline import Pipeline

CHOICES = (
    "Ground words where nobody tagged",
    "Paths and tracks not ridden yet",
    "Both",
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Taken:
    """The document with what the map gave, and what that was."""

    before: Document
    after: Document
    ways: int
    words: int
    trails: int
    attribution: str


class Extracting:
    """The map extract actions of one window."""

    def __init__(self, window: Window, rooms: Pipeline) -> None:
        self.window, self.desk, self.rooms = window, window.desk, rooms

    def doings(self) -> dict[str, Callable[[], object]]:
        """Say what the actions do."""
        return {"extract": self.ask, "give_back": self.give_back}

    def ask(self) -> None:
        """Ask for a file and what to take from it."""
        title = say("Read a map extract")
        path = self.window.dialogs.open_file(title, MAP_FILES)
        if path is None:
            return
        choice = self.window.dialogs.pick(title, say("What to take?"), [say(c) for c in CHOICES])
        if choice is not None:
            self.window.go("ground")
            work = partial(take, self.rooms, self.desk.document, path, choice)
            self.desk.jobs.start("extract", work, on_done=partial(self._taken, path),
                                 on_failed=self.desk.failed)  # fmt: skip

    def _taken(self, path: Path, taken: Taken) -> None:
        now = self.desk.document
        if any(
            getattr(now, name) is not getattr(taken.before, name)
            for name in ("rides", "tags", "corrections", "settings")
        ):
            self.desk.warn(say("The area changed meanwhile: read the extract again"))
            return
        if taken.after is not taken.before:
            self.desk.apply(say("Read {name}", name=path.name), partial(_with, taken.after))
        self.desk.tell(taken_words(path, taken))

    def give_back(self) -> None:
        """Take out all that came from map extracts."""
        from loopwright.borrow import given_back
        from loopwright.io.osm import ATTRIBUTION

        self.desk.apply(
            say("Give back what the map said"), lambda document: given_back(document, ATTRIBUTION)
        )


def take(rooms: Pipeline, document: Document, path: Path, choice: int, report: Report) -> Taken:
    """Read the file and work out the next document; ``choice`` is one of ``CHOICES``."""
    from loopwright.borrow import borrowed, box_of, on_network, trails_of, with_trails, with_words
    from loopwright.io.osm import read_osm

    report.step(0.0, say("reading {name}", name=path.name))
    extract = read_osm(path, within=box_of(document), check=report.check)
    after = with_trails(document, extract) if choice else document
    if choice != 1:
        network = rooms.network(after, report)
        after = with_words(after, on_network(extract, network, report))
    had, have = borrowed(document), borrowed(after)
    return Taken(
        before=document, after=after, ways=len(extract.lines),
        words=len(have[0]) - len(had[0]), trails=trails_of(have[1]) - trails_of(had[1]),
        attribution=extract.attribution,
    )  # fmt: skip


def _with(after: Document, document: Document) -> Document:
    """Put in what the map changed, and leave the rest of the document as it is now."""
    from dataclasses import replace

    return replace(
        document, tags=after.tags, corrections=after.corrections, settings=after.settings
    )


def taken_words(path: Path, taken: Taken) -> str:
    """Say what an extract gave."""
    if taken.after is taken.before:
        return say(
            "{name}: {n} ways here, nothing new for your trails", name=path.name, n=taken.ways
        )
    parts = [
        count(taken.words, "1 way says what your ground is", "{n} ways say what your ground is")
        if taken.words else "",
        count(taken.trails, "1 way looked at for trails not ridden yet",
              "{n} ways looked at for trails not ridden yet") if taken.trails else "",
    ]  # fmt: skip
    return say("{name}: {what}. {whose}", name=path.name,
               what="; ".join(part for part in parts if part), whose=taken.attribution)  # fmt: skip
