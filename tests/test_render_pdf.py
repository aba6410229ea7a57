"""PDF and PNG files as other programs see them."""

from __future__ import annotations

import io
import os
import subprocess
import sys
import unicodedata
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pypdf
import pytest
from pypdf.generic import DictionaryObject

from card_help import NAMES, card_picture, ring, sheet
from loopwright.card import PAPERS, card_pages
from loopwright.card.sheet import Paper
from loopwright.errors import WorldError
from loopwright.model.picture import Picture, Text
from loopwright.render.pdf import pdf_bytes, write_pdf
from loopwright.render.png import drawn, write_png

NOW = datetime(2026, 5, 12, 8, 30, 15, tzinfo=UTC)
MOST_BYTES = 500_000
POINTS_PER_MM = 72 / 25.4


def read(content: bytes) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(content), strict=True)


def fonts_of(reader: pypdf.PdfReader) -> list[DictionaryObject]:
    """Descriptors of all fonts on the first page."""
    resources = reader.pages[0]["/Resources"]
    fonts = resources["/Font"].values()  # type: ignore[index] # pypdf knows only "object"
    children = [font.get_object()["/DescendantFonts"][0].get_object() for font in fonts]
    return [child["/FontDescriptor"].get_object() for child in children]


@pytest.mark.parametrize("paper", PAPERS)
def test_one_page_of_the_right_size_with_a_title(paper: Paper) -> None:
    pages = card_pages(sheet(3, features=40), paper=paper)
    picture = pages[0]
    content = pdf_bytes(pages, now=NOW)
    reader = read(content)
    assert len(reader.pages) == len(pages) == (2 if paper == "A5" else 1)
    box = reader.pages[0].mediabox
    assert float(box.width) == pytest.approx(picture.width_mm * POINTS_PER_MM, abs=1.0)
    assert float(box.height) == pytest.approx(picture.height_mm * POINTS_PER_MM, abs=1.0)
    assert reader.metadata is not None
    assert reader.metadata.title == picture.title
    assert reader.metadata.creator == "Loopwright"
    assert len(content) < MOST_BYTES


def test_even_a_map_full_of_trails_stays_small() -> None:
    trails = tuple(ring(seed, length_m=4000, step_m=2.5) for seed in range(400))  # 1,600 km
    content = pdf_bytes(card_pages(sheet(4, features=40, background=trails)))
    assert len(content) < MOST_BYTES


@pytest.mark.parametrize("name", NAMES[:4])
def test_all_fonts_are_embedded(name: str) -> None:
    found = fonts_of(read(pdf_bytes(card_pages(sheet(name=name)))))
    assert found
    assert all("/FontFile2" in font for font in found)
    assert all("Noto" in str(font["/FontName"]) for font in found)


def test_text_can_be_read_out() -> None:
    text = read(pdf_bytes(card_pages(sheet(name=NAMES[1])))).pages[0].extract_text()
    for words in (NAMES[1], "4 laps, 5 min easy between", "steep climb", "TRAINING", "Profile"):
        assert words in text


@pytest.mark.parametrize("name", NAMES[2:4])
def test_letters_of_names_from_right_to_left_can_be_read_out(name: str) -> None:
    text = read(pdf_bytes(card_pages(sheet(name=name)))).pages[0].extract_text()
    plain = unicodedata.normalize("NFKC", text)  # joined letters come out in their joined forms
    assert set(name) <= set(plain)


def test_same_picture_and_time_same_bytes() -> None:
    pages = card_pages(sheet(3, features=20), paper="A5")
    assert pdf_bytes(pages, now=NOW) == pdf_bytes(pages, now=NOW)
    assert pdf_bytes(pages) == pdf_bytes(pages)


def test_every_process_writes_the_same_bytes() -> None:
    # Four fonts, whose order in the file would else follow a random seed of each process.
    script = (
        "import hashlib\n"
        "from card_help import NAMES, sheet\n"
        "from loopwright.card import card_pages\n"
        "from loopwright.render.pdf import pdf_bytes\n"
        "pages = card_pages(sheet(4, features=9, name=NAMES[2], area=NAMES[3]))\n"
        "print(hashlib.sha256(pdf_bytes(pages)).hexdigest())\n"
    )
    here = str(Path(__file__).parent)
    given = {**os.environ, "PYTHONPATH": here, "QT_QPA_PLATFORM": "offscreen"}
    seen = {
        subprocess.run(
            [sys.executable, "-c", script], env=given, capture_output=True, check=True, text=True
        ).stdout
        for _ in range(3)
    }
    assert len(seen) == 1


def test_the_document_is_dated_by_the_clock_it_was_given() -> None:
    pages = card_pages(sheet())
    local = NOW.astimezone(timezone(timedelta(hours=5, minutes=45)))
    for moment in (NOW, local):
        info = read(pdf_bytes(pages, now=moment)).metadata
        assert info is not None
        assert info.creation_date == NOW
        assert info.modification_date == NOW


def test_without_a_clock_the_document_is_undated() -> None:
    content = pdf_bytes(card_pages(sheet()))
    info = read(content).metadata
    assert info is not None
    assert info.creation_date is None
    assert b"CreateDate" not in content


def test_different_pictures_have_different_document_ids() -> None:
    one, two = (read(pdf_bytes(card_pages(sheet(name=name)))) for name in ("one", "two"))
    assert one.trailer["/ID"] != two.trailer["/ID"]


def test_files_are_written_whole(tmp_path: Path) -> None:
    (picture,) = pages = card_pages(sheet(), paper="strip")
    write_pdf(pages, tmp_path / "card.pdf", now=NOW)
    write_png(picture, tmp_path / "card.png", dpi=80)
    assert (tmp_path / "card.pdf").read_bytes() == pdf_bytes(pages, now=NOW)
    assert (tmp_path / "card.png").read_bytes()[:8] == b"\x89PNG\r\n\x1a\n"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["card.pdf", "card.png"]


def test_png_has_the_asked_resolution_and_the_same_bytes(tmp_path: Path) -> None:
    picture = card_picture(sheet(), paper="A5")
    image = drawn(picture, dpi=150)
    assert (image.width(), image.height()) == (round(148 / 25.4 * 150), round(210 / 25.4 * 150))
    assert image.dotsPerMeterX() == 5906  # 150 dots in 0.0254 m
    for name in ("one.png", "two.png"):
        write_png(picture, tmp_path / name, dpi=60)
    assert (tmp_path / "one.png").read_bytes() == (tmp_path / "two.png").read_bytes()


def test_a_place_that_cannot_be_written_is_one_clear_sentence(tmp_path: Path) -> None:
    picture = Picture(width_mm=30, height_mm=30, marks=(Text(x=5, y=15, words="here", size_mm=4),))
    path = tmp_path / "missing" / "card.pdf"
    with pytest.raises(WorldError, match="cannot be written"):
        write_pdf((picture,), path)
    assert not path.exists()


def test_a_failed_write_leaves_the_old_file_and_no_litter(tmp_path: Path) -> None:
    folder = tmp_path / "card.pdf"
    folder.mkdir()
    (folder / "kept").write_text("as it was")
    picture = Picture(width_mm=30, height_mm=30, marks=())
    with pytest.raises(WorldError):
        write_png(picture, folder)
    assert (folder / "kept").read_text() == "as it was"
    assert [path.name for path in tmp_path.iterdir()] == ["card.pdf"]
