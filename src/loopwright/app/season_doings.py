"""Season actions beyond planning: race ground, the every-surface loop, the season on paper.

Gets a window; teaches it these actions. Promises: measuring and writing run off the window's
thread; all pages of the season go into one file or one print.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QDialog

from loopwright import edits
from loopwright.app.files import Files
from loopwright.app.race_picking import pick_race_lap
from loopwright.app.rides_list import ride_title
from loopwright.app.season_ground import with_ground
from loopwright.app.window import Window
from loopwright.app.words import say
from loopwright.jobs import Report
from loopwright.model.document import Document
from loopwright.model.ground import GROUND_PREFIX, Amounts
from loopwright.model.picture import Picture
from loopwright.model.track import Ride
from loopwright.season import season_pages
from loopwright.season.ledger import OFFER_KIND, UNKNOWN

if TYPE_CHECKING:
    from loopwright.pipeline import Pipeline

PAGES = "PDF (*.pdf)"


class SeasonDoings:
    """Season actions of one window."""

    def __init__(self, window: Window, files: Files) -> None:
        self.window, self.desk, self.files = window, window.desk, files
        self.now: Callable[[], datetime] = lambda: datetime.now(UTC)

    def doings(self) -> dict[str, Callable[[], object]]:
        """Say what the actions do."""
        return {
            "race_ground": self.ground,
            "every_surface": self.every_surface,
            "season_pages": self.save_pages,
            "print_season": self.print,
        }

    # -- ground ------------------------------------------------------------------------------

    def ground(self) -> None:
        """Measure what race day may bring from a race lap of the area, or from a file."""
        pick_race_lap(self.window, self.files, say("Ground of race day"), self._measure)

    def _measure(self, lap: Ride) -> None:
        work = partial(_amounts, self.files.rooms, self.desk.document, lap)
        self.desk.jobs.start("race", work, on_done=self._bring, on_failed=self.desk.failed)

    def _bring(self, amounts: Amounts) -> None:
        plan, ground = self.desk.document.season, known_ground(amounts)
        if plan is None or not plan.wishes.races:
            self.desk.warn(say("Say when the race is first, then plan"))
        elif not ground:
            self.desk.warn(say("The ground of this race lap is not tagged: set it by hand"))
        else:
            after = with_ground(plan, ground)
            words = say("Measure the ground of race day")
            self.desk.apply(words, lambda d: edits.set_season(d, after))

    def every_surface(self) -> None:
        """Ask the finder for a loop over every surface."""
        from loopwright.loops.mixes import built_in_mixes

        mix = next(mix for mix in built_in_mixes() if mix.name == OFFER_KIND)
        wishes = replace(self.desk.wishes, mix=mix)
        words = say("Find a loop over every surface")
        self.desk.apply(words, lambda d: edits.set_wishes(d, wishes))
        self.window.do("loops")

    # -- paper -------------------------------------------------------------------------------

    def _pages(self) -> tuple[Picture, ...]:
        document = self.desk.document
        if document.season is None:
            return ()
        invented = document.settings.invented
        return season_pages(document.season, name=document.name, invented=invented)

    def save_pages(self) -> None:
        """Ask where to, and write every page into one PDF."""
        pages, name = self._pages(), f"{self.desk.document.name} season.pdf"
        path = self.window.dialogs.save_file(say("Save the season"), name, PAGES) if pages else None
        if path is None:
            return
        path = path if path.suffix.lower() == ".pdf" else path.with_suffix(".pdf")
        self.desk.jobs.start(
            "export",
            partial(_write_pages, pages, path, self.now()),
            on_done=lambda _answer: self.desk.tell(say("Season saved as {name}", name=path.name)),
            on_failed=self.desk.failed,
        )

    def print(self) -> None:
        """Ask for a printer, and print every page."""
        from PySide6.QtPrintSupport import QPrintDialog, QPrinter

        from loopwright.render.printing import ask_for_page, print_pages

        pages = self._pages()
        if not pages:
            return
        printer = QPrinter(QPrinter.PrinterMode.HighResolution)
        ask_for_page(pages[0], printer)
        dialog = QPrintDialog(printer, self.window)
        if dialog.exec() == QDialog.DialogCode.Accepted.value:
            print_pages(pages, printer)


def known_ground(amounts: Amounts) -> dict[str, float]:
    """Pick the metres by surface out of measured amounts; what is not tagged is left out."""
    ground = {
        kind.removeprefix(GROUND_PREFIX): amount
        for kind, amount in amounts.items()
        if kind.startswith(GROUND_PREFIX) and amount > 0
    }
    ground.pop(UNKNOWN, None)
    return ground


def _amounts(rooms: Pipeline, document: Document, lap: Ride, report: Report) -> Amounts:
    from loopwright.demands import race_amounts

    report.step(0.0, ride_title(lap))
    return race_amounts(rooms, document, lap)[0]


def _write_pages(pages: tuple[Picture, ...], path: Path, now: datetime, _report: Report) -> None:
    from loopwright.render.pdf import write_pdf

    write_pdf(pages, path, now=now)
