"""Icons: each can be drawn, all have one weight and one ink."""

from __future__ import annotations

from pathlib import Path

import pytest
from lxml import etree
from PySide6.QtGui import QImage, QPainter
from PySide6.QtSvg import QSvgRenderer

from loopwright.card.palette import INK
from loopwright.render.application import ensure_application
from loopwright.resources import folder

ICONS = sorted((folder("assets") / "icons").glob("*.svg"))
STROKES = [path for path in ICONS if path.stem != "loopwright"]


def drawn(path: Path, side: int = 24) -> QImage:
    ensure_application()
    image = QImage(side, side, QImage.Format.Format_ARGB32)
    image.fill(0)
    painter = QPainter(image)
    QSvgRenderer(str(path)).render(painter)
    painter.end()
    return image


def opaque(image: QImage) -> list[tuple[int, int]]:
    return [
        (x, y)
        for x in range(image.width())
        for y in range(image.height())
        if image.pixelColor(x, y).alpha() > 100
    ]


@pytest.mark.parametrize("path", ICONS, ids=lambda path: path.stem)
def test_every_icon_can_be_drawn_and_shows_something(path: Path) -> None:
    ensure_application()
    assert QSvgRenderer(str(path)).isValid()
    assert len(opaque(drawn(path))) > 20


@pytest.mark.parametrize("path", STROKES, ids=lambda path: path.stem)
def test_icons_share_field_weight_and_ink(path: Path) -> None:
    root = etree.parse(path).getroot()
    assert root.get("viewBox") == "0 0 24 24"
    assert root.get("stroke") == INK
    assert root.get("stroke-width") == "1.75"
    assert root.get("fill") == "none"


@pytest.mark.parametrize("path", STROKES, ids=lambda path: path.stem)
def test_no_stroke_is_cut_by_the_edge(path: Path) -> None:
    side = 96
    spots = opaque(drawn(path, side))
    assert all(0 < x < side - 1 and 0 < y < side - 1 for x, y in spots)


def test_the_mark_of_the_program_is_the_same_in_both_forms() -> None:
    image = QImage(str(folder("assets") / "icons" / "loopwright.png"))
    assert (image.width(), image.height()) == (256, 256)
    fresh = drawn(folder("assets") / "icons" / "loopwright.svg", 256)
    different = [
        (x, y)
        for x in range(0, 256, 8)
        for y in range(0, 256, 8)
        if abs(image.pixelColor(x, y).lightness() - fresh.pixelColor(x, y).lightness()) > 8
    ]
    assert different == []
