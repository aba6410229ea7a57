"""Contrast of every pair of colours in which words are shown, in both themes.

The formula and the limits, 4.5 to 1 for words and 3 to 1 for lines, are those of WCAG 2.1, success
criteria 1.4.3 and 1.4.11. Words that cannot be used now still tell something here, so they
are held to the limit that the criterion would spare them.
"""

from __future__ import annotations

import re
from itertools import product

import numpy as np
import pytest
from PySide6.QtCore import QPointF
from PySide6.QtGui import QColor, QImage, QPainter, QPalette
from pytestqt.qtbot import QtBot

from loopwright.app.look import make_look, qt_palette, style_sheet
from loopwright.app.map_marks import paint_north, paint_scale, sign_image
from loopwright.card.palette import DARK, LIGHT, Theme, contrast
from loopwright.model.ground import FeatureKind
from loopwright.render.application import ensure_application

GROUPS = (QPalette.ColorGroup.Active, QPalette.ColorGroup.Inactive, QPalette.ColorGroup.Disabled)
ROLE = QPalette.ColorRole
PAIRS = (
    (ROLE.WindowText, ROLE.Window), (ROLE.Text, ROLE.Base), (ROLE.Text, ROLE.AlternateBase),
    (ROLE.ButtonText, ROLE.Button), (ROLE.HighlightedText, ROLE.Highlight),
    (ROLE.ToolTipText, ROLE.ToolTipBase), (ROLE.PlaceholderText, ROLE.Base),
    (ROLE.Link, ROLE.Base), (ROLE.BrightText, ROLE.Window),
)  # fmt: skip
THEMES = pytest.mark.parametrize("theme", [LIGHT, DARK], ids=lambda theme: theme.name)
RULE = re.compile(r"([^{}]+)\{([^}]*)\}")
COLOUR = re.compile(r"(?<![\w-])color:\s*(#\w+)")
GROUND = re.compile(r"background(?:-color)?:\s*(#\w+)")


@THEMES
@pytest.mark.parametrize("group", GROUPS, ids=lambda group: group.name)
def test_every_role_of_words_reads_on_its_ground(theme: Theme, group: QPalette.ColorGroup) -> None:
    palette = qt_palette(theme)
    poor = {}
    for words, ground in PAIRS:
        ratio = contrast(palette.color(group, words).name(), palette.color(group, ground).name())
        if ratio < 4.5:
            poor[words.name] = round(ratio, 2)
    assert poor == {}


def rules(theme: Theme) -> list[tuple[str, str, str]]:
    """Selector, colour of words and colour of the ground of every rule of the style sheet."""
    found = []
    for selector, body in RULE.findall(style_sheet(make_look(theme.name))):
        words, ground = COLOUR.search(body), GROUND.search(body)
        if words or ground:
            grounds = [ground.group(1)] if ground else [theme.paper, theme.panel]
            ink = words.group(1) if words else theme.ink
            found += [(selector.strip(), ink, one) for one in grounds]
    return found


PAINTED = re.compile(
    r"QSplitter|QScrollBar::handle|::indicator|QMenu::separator|QProgressBar|main=.true.\"?\]:hover"
)
"""Grounds without words on them, and one whose words another rule colours."""


@THEMES
def test_every_rule_of_the_style_sheet_reads(theme: Theme) -> None:
    poor = [
        (selector, round(contrast(ink, ground), 2))
        for selector, ink, ground in rules(theme)
        if contrast(ink, ground) < 4.5 and not PAINTED.search(selector)
    ]
    assert poor == []
    assert len(rules(theme)) > 20


@THEMES
def test_the_words_over_the_map_read_on_any_picture(theme: Theme) -> None:
    """Tags and key stand on paper that lets a little of the map through."""
    paper, ink = np.array(rgb_of(theme.paper)), theme.ink
    for under in (0, 255):
        seen = np.round(paper * 215 / 255 + under * 40 / 255).astype(int)
        assert contrast(ink, "#" + "".join(f"{v:02x}" for v in seen)) >= 4.5


def rgb_of(colour: str | QColor) -> tuple[int, int, int]:
    tone = QColor(colour)
    return tone.red(), tone.green(), tone.blue()


def pixels_of(image: QImage, colour: str) -> int:
    """Count pixels of about a colour."""
    rgb = np.array([
        rgb_of(QColor(image.pixel(x, y)))
        for y, x in product(range(image.height()), range(image.width()))
    ])  # fmt: skip
    away = np.abs(rgb - np.array(rgb_of(colour))).max(axis=1)
    return int((away < 24).sum())


@THEMES
@pytest.mark.parametrize("what", ["number", "scale", "north"])
def test_signs_keep_their_own_edge_on_a_ground_of_their_own_colour(
    qtbot: QtBot, theme: Theme, what: str
) -> None:
    """Where the picture below has the colour of the ink, a halo of paper keeps them apart."""
    ensure_application()  # with the shipped letters, whatever ran before
    look = make_look(theme.name)
    image = QImage(160, 70, QImage.Format.Format_RGB32)
    image.fill(QColor(theme.ink))
    painter = QPainter(image)
    if what == "number":
        kind = FeatureKind.STEADY
        painter.drawImage(QPointF(20, 30), sign_image(kind, 128, size=6, look=look, ratio=1.0))
    elif what == "scale":
        paint_scale(painter, QPointF(10, 50), metres_a_pixel=1.0, look=look)
    else:
        paint_north(painter, QPointF(40, 34), look=look)
    painter.end()
    assert pixels_of(image, theme.paper) > 60


@THEMES
@pytest.mark.parametrize("line", ["trail", "accent", "warning"])
def test_lines_that_tell_something_stand_out_from_the_paper(theme: Theme, line: str) -> None:
    assert contrast(getattr(theme, line), theme.paper) >= 3.0


@THEMES
def test_the_focus_shows(theme: Theme) -> None:
    """The ring round what has the focus is the accent: it stands out from paper and panel."""
    for ground in (theme.paper, theme.panel):
        assert contrast(theme.accent, ground) >= 3.0
