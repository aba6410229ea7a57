"""Fonts: what layouts measure is what is painted."""

from __future__ import annotations

import sys

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PySide6.QtGui import QFontDatabase, QFontInfo, QFontMetricsF, QImage

from card_help import NAMES, card_picture, sheet
from loopwright.card.boxes import text_box
from loopwright.card.measure import width_mm
from loopwright.model.picture import Picture, Text
from loopwright.render.application import FAMILIES, ensure_application, shipped_font
from loopwright.render.font_widths import table_text
from loopwright.render.painter import colour
from loopwright.render.png import drawn
from loopwright.resources import folder

EM = 100
LETTERS = st.text(
    alphabet=st.characters(min_codepoint=0x21, max_codepoint=0x17F, categories=["L", "N", "P"]),
    min_size=1,
    max_size=40,
)


def painted_width(words: str, *, bold: bool = False) -> float:
    ensure_application()
    return QFontMetricsF(shipped_font(pixels=EM, bold=bold)).horizontalAdvance(words) / EM


def ink_of(image: QImage) -> tuple[int, int, int, int]:
    """Left, top, right, bottom of all pixels that are not paper, in pixels."""
    dark = [
        (x, y)
        for y in range(image.height())
        for x in range(image.width())
        if image.pixelColor(x, y).lightness() < 200
    ]
    columns, rows = [x for x, _ in dark], [y for _, y in dark]
    return min(columns), min(rows), max(columns), max(rows)


@settings(max_examples=150, deadline=None)
@given(LETTERS, st.booleans())
def test_measured_widths_are_painted_widths(words: str, bold: bool) -> None:  # noqa: FBT001 - drawn by hypothesis
    assert width_mm(words, 1.0, bold=bold) == pytest.approx(
        painted_width(words, bold=bold), abs=0.003 * len(words)
    )


@pytest.mark.parametrize("name", NAMES[:5])
@pytest.mark.parametrize("bold", [False, True])
def test_names_are_never_painted_wider_than_measured(name: str, bold: bool) -> None:  # noqa: FBT001 - a case
    assert painted_width(name, bold=bold) <= width_mm(name, 1.0, bold=bold) * 1.01 + 0.01


def test_the_shipped_table_is_made_from_the_shipped_fonts() -> None:
    ensure_application()
    fonts = folder("assets") / "fonts"
    assert (fonts / "widths.json").read_text(encoding="utf-8") == table_text(fonts)


def test_the_shipped_fonts_are_used_and_licensed() -> None:
    ensure_application()
    assert set(FAMILIES) <= set(QFontDatabase.families())
    assert QFontInfo(shipped_font(pixels=EM)).family() == FAMILIES[0]
    licence = (folder("assets") / "fonts" / "OFL.txt").read_text(encoding="utf-8")
    assert "SIL OPEN FONT LICENSE Version 1.1" in licence


@pytest.mark.parametrize("words", ["Älvsborg gjy", "ẾỆ Ắg", *NAMES[2:4], "0:23.7", "(jÅg|Ç)"])
def test_painted_ink_lies_inside_the_measured_box(words: str) -> None:
    mark = Text(x=10, y=14, words=words, size_mm=6, bold=True)
    picture = Picture(width_mm=180, height_mm=24, marks=(mark,))
    dots = 100 / 25.4
    left, top, right, bottom = ink_of(drawn(picture, dpi=100))
    box = text_box(mark)
    assert left / dots >= box.left - 0.3
    assert right / dots <= box.right + 0.5
    assert top / dots >= box.top - 0.3
    assert bottom / dots <= box.bottom + 0.3


@pytest.mark.parametrize("anchor", ["left", "middle", "right"])
def test_anchors_hold_for_both_directions(anchor: str) -> None:
    for words in ("north", NAMES[3]):
        mark = Text(x=40, y=14, words=words, size_mm=5, anchor=anchor)  # type: ignore[arg-type]
        picture = Picture(width_mm=80, height_mm=24, marks=(mark,))
        left, _, right, _ = ink_of(drawn(picture, dpi=100))
        spot = {"left": left, "middle": (left + right) / 2, "right": right}[anchor]
        assert spot / 100 * 25.4 == pytest.approx(40, abs=0.7)


def test_words_too_long_for_their_room_are_shortened() -> None:
    mark = Text(x=2, y=10, words="a very long line of words", size_mm=5, max_width_mm=20)
    _, _, right, _ = ink_of(drawn(Picture(width_mm=80, height_mm=15, marks=(mark,)), dpi=100))
    assert right / 100 * 25.4 <= 22.5


def test_colours_with_alpha_keep_their_order() -> None:
    shade = colour("#11223380")
    assert (shade.red(), shade.green(), shade.blue(), shade.alpha()) == (17, 34, 51, 128)


def test_a_mark_nobody_knows_is_our_fault_and_says_so() -> None:
    picture = Picture(width_mm=10, height_mm=10, marks=("no mark",))  # type: ignore[arg-type]
    with pytest.raises(TypeError, match="no way to paint a str"):
        drawn(picture, dpi=30)


def test_painting_does_not_use_up_references_to_none() -> None:
    # PySide6 6.12.0 on Python 3.11 loses one in most calls and aborts in the end (seen).
    picture = card_picture(sheet(), paper="strip")
    drawn(picture, dpi=40)
    before = sys.getrefcount(None)
    for _ in range(5):
        drawn(picture, dpi=40)
    assert sys.getrefcount(None) > before - 50
