"""The loop card before it is printed: preview, paper, save, print.

Gets a window with a loop in view; gives a card as PDF, PNG or on a printer. Promises: what is shown
is what comes out, it is drawn off the window's thread, and the cautions stand beside it.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QImage, QPixmap, QResizeEvent
from PySide6.QtWidgets import QDialog, QHBoxLayout, QVBoxLayout, QWidget

from loopwright.app.cautions import cautions
from loopwright.app.files import Files
from loopwright.app.parts import Choice, button, label, row
from loopwright.app.plain_text import bare_label
from loopwright.app.sheet import Scrolled, fit_screen
from loopwright.app.window import Window
from loopwright.app.words import say
from loopwright.jobs import Report
from loopwright.model.document import Document
from loopwright.model.loops import SavedLoop
from loopwright.model.picture import Picture, side_by_side
from loopwright.model.season import Session
from loopwright.units import Units

if TYPE_CHECKING:
    from loopwright.pipeline import Pipeline

PAPERS = {"A4": "A4 sheet", "A5": "A5 sheet", "strip": "Top-tube strip"}
PREVIEW_DPI = 110
GAP_MM = 4.0
"""Between pages shown beside each other."""
JOB = "card"
KINDS = "PDF (*.pdf);;Picture (*.png)"


class CardDialog(QDialog):
    """The card of one loop."""

    def __init__(
        self,
        window: Window,
        files: Files,
        *,
        loop: SavedLoop | None = None,
        session: Session | None = None,
    ) -> None:
        super().__init__(window)
        self._window, self._desk, self._files = window, window.desk, files
        self.loop = loop or window.desk.shown
        self.now: Callable[[], datetime] = lambda: datetime.now(UTC)
        self.pages: tuple[Picture, ...] = ()
        self.setWindowTitle(say("Loop card"))
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.finished.connect(lambda _code: self._desk.jobs.drop(JOB))
        self.paper = Choice()
        self.paper.setAccessibleName(say("Paper"))
        for key, words in PAPERS.items():
            self.paper.addItem(say(words), key)
        self.paper.activated.connect(lambda _place: self.draw())
        self.session = Choice()
        self.session.setAccessibleName(say("Session"))
        self._fill_sessions(session)
        self.session.activated.connect(lambda _place: self.draw())
        self.preview = bare_label(say("Drawing the card…"))
        self.preview.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.preview.setAccessibleName(say("Preview of the card"))
        self.preview.setMinimumSize(window.look.px(220), window.look.px(220))
        self._image: QImage | None = None
        self._lay_out()
        fit_screen(self, QSize(window.look.px(860), window.look.px(760)))
        self.draw()

    def _lay_out(self) -> None:
        column = QWidget()
        side = QVBoxLayout(column)
        side.addWidget(label(say("Loop card"), "head"))
        side.addWidget(self.paper)
        side.addWidget(self.session)
        self.save = button(say("Save as PDF or picture…"), self.ask_save, main=True)
        self.print = button(say("Print…"), self.ask_print)
        for push in (self.save, self.print):
            push.setEnabled(False)
            side.addWidget(push)
        self.save.setDefault(True)
        side.addSpacing(12)
        side.addWidget(label(say("Before you ride"), ""))
        for words in cautions():
            side.addWidget(label(f"• {words}", "faint"))
        side.addStretch(1)
        side.addLayout(row(button(say("Close"), self.close)))
        whole = QHBoxLayout(self)
        whole.addWidget(self.preview, 1)
        whole.addWidget(Scrolled(column, say("Paper, session and cautions")))

    def _fill_sessions(self, chosen: Session | None) -> None:
        self.session.addItem(say("No session"), None)
        plan = self._desk.document.season
        for one in plan.sessions if plan else ():
            if one.minutes > 0:
                what = one.kind or one.purpose
                words = say("{day}: {kind}", day=f"{one.on:%a %d %b %Y}", kind=what)
                self.session.addItem(words, one)
                if chosen is not None and one.on == chosen.on:
                    self.session.setCurrentIndex(self.session.count() - 1)
        self.session.setVisible(self.session.count() > 1)

    def draw(self) -> None:
        """Lay the card out, in a job."""
        loop = self.loop
        if loop is None:
            return
        session = self.session.currentData()
        work = partial(
            lay_out,
            self._files.rooms,
            self._desk.document,
            loop,
            paper=str(self.paper.currentData()),
            look=self._window.look.units,
            session=session if isinstance(session, Session) else None,
            on=self.now().date(),
        )
        self._desk.jobs.start(JOB, work, on_done=self._drawn, on_failed=self._failed)

    def _drawn(self, answer: tuple[tuple[Picture, ...], QImage]) -> None:
        self.pages, self._image = answer
        for push in (self.save, self.print):
            push.setEnabled(True)
        self._show()

    def _failed(self, error: BaseException) -> None:
        self.preview.setText(say("The card could not be drawn"))
        self._desk.failed(error)

    def _show(self) -> None:
        if self._image is not None:
            pixels = QPixmap.fromImage(self._image)
            keep = Qt.AspectRatioMode.KeepAspectRatio
            smooth = Qt.TransformationMode.SmoothTransformation
            self.preview.setPixmap(pixels.scaled(self.preview.size(), keep, smooth))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Fit the preview."""
        super().resizeEvent(event)
        self._show()

    def ask_save(self) -> None:
        """Ask where to, and save."""
        name = f"{self.loop.name if self.loop else 'loop'}.pdf"
        path = self._window.dialogs.save_file(say("Save the card"), name, KINDS)
        pages = self.pages
        if path is None or not pages:
            return
        path = path if path.suffix.lower() in {".pdf", ".png"} else path.with_suffix(".pdf")
        now = self.now()
        self._desk.jobs.start(
            "save card",
            lambda _report: write_card(pages, path, now=now),
            on_done=lambda _answer: self._desk.tell(say("Card saved as {name}", name=path.name)),
            on_failed=self._desk.failed,
        )

    def ask_print(self) -> None:
        """Ask for a printer, and print."""
        from PySide6.QtPrintSupport import QPrintDialog, QPrinter

        from loopwright.render.printing import ask_for_page, print_pages

        if not self.pages:
            return
        printer = QPrinter(QPrinter.PrinterMode.HighResolution)
        ask_for_page(self.pages[0], printer)
        dialog = QPrintDialog(printer, self)
        if dialog.exec() == QDialog.DialogCode.Accepted.value:
            print_pages(self.pages, printer)


def lay_out(
    rooms: Pipeline,
    document: Document,
    loop: SavedLoop,
    report: Report,
    *,
    paper: str,
    look: Units,
    session: Session | None,
    on: date,
) -> tuple[tuple[Picture, ...], QImage]:
    """Make the card's picture and draw its preview."""
    from loopwright.card import card_pages
    from loopwright.cards import card_input
    from loopwright.render.png import drawn

    report.step(0.1, loop.name)
    sheet = card_input(rooms, document, loop, on=on, units=look, session=session)
    pages = card_pages(sheet, paper=paper)  # type: ignore[arg-type]  # one of PAPERS
    report.step(0.7, loop.name)
    return pages, drawn(side_by_side(pages, gap_mm=GAP_MM), dpi=PREVIEW_DPI)


def write_card(pages: tuple[Picture, ...], path: Path, *, now: datetime) -> None:
    """Write the card by the ending of its name."""
    if path.suffix.lower() == ".png":
        from loopwright.render.png import write_png

        write_png(side_by_side(pages, gap_mm=GAP_MM), path)
    else:
        from loopwright.render.pdf import write_pdf

        write_pdf(pages, path, now=now)


def doings(window: Window, files: Files) -> dict[str, Callable[[], object]]:
    """Say what the card actions do."""
    return {
        "card": lambda: CardDialog(window, files).show(),
        "session_card": lambda: session_card(window, files),
    }


def session_card(window: Window, files: Files) -> None:
    """Show the card of the session chosen in the Season place, on the loop it holds."""
    loop, session = window.season.chosen()
    if loop is None:
        window.desk.warn(say("Choose a loop in Loops first"))
    else:
        CardDialog(window, files, loop=loop, session=session).show()
