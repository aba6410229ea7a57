"""Printing: true size where the page allows, centred, smaller only if it must be."""

from __future__ import annotations

from pathlib import Path

import pypdf
import pytest
from PySide6.QtCore import QMarginsF, QSizeF
from PySide6.QtGui import QPageSize, QPdfWriter
from PySide6.QtPrintSupport import QPrinter

from card_help import sheet
from loopwright.card import card_pages
from loopwright.model.picture import Picture, Text
from loopwright.render.application import ensure_application, headless
from loopwright.render.printing import ask_for_page, print_pages

POINTS_PER_MM = 72 / 25.4


def printer_on(path: Path, *, width: float, height: float, margin: float = 0.0) -> QPdfWriter:
    ensure_application()
    printer = QPdfWriter(str(path))
    printer.setResolution(600)
    size = QSizeF(width, height)
    unit, match = QPageSize.Unit.Millimeter, QPageSize.SizeMatchPolicy.ExactMatch
    printer.setPageSize(QPageSize(size, unit, "page", match))
    printer.setPageMargins(QMarginsF(margin, margin, margin, margin))
    return printer


def test_a_picture_larger_than_the_page_is_made_smaller(tmp_path: Path) -> None:
    path = tmp_path / "small.pdf"
    print_pages(card_pages(sheet(), paper="A4"), printer_on(path, width=148, height=210))
    page = pypdf.PdfReader(path).pages[0]
    assert float(page.mediabox.width) == pytest.approx(148 * POINTS_PER_MM, abs=1)
    assert "Targets" in page.extract_text()


@pytest.mark.parametrize("paper", ["A5", "strip"])
def test_asking_for_a_page_gives_a_page_of_the_pictures_size(tmp_path: Path, paper: str) -> None:
    picture = card_pages(sheet(), paper=paper)[0]  # type: ignore[arg-type] # one of PAPERS
    printer = printer_on(tmp_path / "card.pdf", width=210, height=297)
    assert ask_for_page(picture, printer)
    print_pages((picture,), printer)
    box = pypdf.PdfReader(tmp_path / "card.pdf").pages[0].mediabox
    assert float(box.width) == pytest.approx(picture.width_mm * POINTS_PER_MM, abs=1)


def test_margins_of_the_printer_do_not_move_the_picture(tmp_path: Path) -> None:
    mark = Text(x=50, y=50, words="here", size_mm=5)
    picture = Picture(width_mm=100, height_mm=100, marks=(mark,))
    contents = []
    for margin in (0.0, 12.0):
        path = tmp_path / f"{margin}.pdf"
        print_pages((picture,), printer_on(path, width=100, height=100, margin=margin))
        contents.append(_place_of_here(path))
    assert contents[0] == pytest.approx(
        contents[1], abs=0.3
    )  # points; the page is laid in whole dots


def test_a_small_card_keeps_its_size_in_the_middle_of_a_large_page(tmp_path: Path) -> None:
    mark = Text(x=50, y=50, words="here", size_mm=5)
    picture = Picture(width_mm=100, height_mm=100, marks=(mark,))
    path = tmp_path / "page.pdf"
    ensure_application()
    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    printer.setOutputFormat(QPrinter.OutputFormat.PdfFormat)
    printer.setOutputFileName(str(path))
    printer.setPageSize(QPageSize(QPageSize.PageSizeId.A4))
    print_pages((picture,), printer)
    # ISO 216: A4 is 210 by 297 mm; the words stand in its very middle, PDF counts from below.
    assert _place_of_here(path) == pytest.approx(
        [210 / 2 * POINTS_PER_MM, 297 / 2 * POINTS_PER_MM], abs=1.0
    )


def _place_of_here(path: Path) -> list[float]:
    """Where the words stand on the page, in points from its lower left corner."""
    places: list[float] = []

    def visit(text: str, outer: list[float], inner: list[float], *_: object) -> None:
        if "here" in text:
            x = inner[4] * outer[0] + inner[5] * outer[2] + outer[4]
            y = inner[4] * outer[1] + inner[5] * outer[3] + outer[5]
            places.extend((round(x, 1), round(y, 1)))

    pypdf.PdfReader(path).pages[0].extract_text(visitor_text=visit)
    assert places
    return places


def test_a_screen_is_not_asked_for_where_there_is_none(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.platform", "linux")
    monkeypatch.delenv("DISPLAY", raising=False)
    monkeypatch.delenv("WAYLAND_DISPLAY", raising=False)
    assert headless()
    monkeypatch.setenv("DISPLAY", ":0")
    assert not headless()
