"""The pages: A4, A5 and the strip for the top tube.

Gets what a card is made from and a paper; gives a picture. Promises: the same input gives the same
picture; nothing leaves the page and no two lines of text touch.
"""

from __future__ import annotations

from dataclasses import dataclass

from loopwright.card import palette
from loopwright.card.boxes import Box, panel
from loopwright.card.contents import content_for
from loopwright.card.foot_panel import foot_height, foot_lines, foot_panel
from loopwright.card.head_panel import figure_row, figures, head_panel
from loopwright.card.map_panel import map_panel
from loopwright.card.profile_panel import grade_key, profile_panel
from loopwright.card.sheet import CardInput, Paper
from loopwright.card.side_panel import asks_rows, ground_rows, section_head
from loopwright.card.strip import strip_picture
from loopwright.card.table_panel import TablePlan, plan_table, table_panel
from loopwright.card.table_rows import Table, table_for
from loopwright.model.picture import Mark, Picture


@dataclass(frozen=True, slots=True, kw_only=True)
class PageStyle:
    """Sizes of one page in millimetres; text sizes are em heights."""

    width: float
    height: float
    margin: float
    gap: float
    title: float
    body: float
    head: float
    value: float
    small: float
    profile: float
    side: float
    map_least: float
    table_most: float
    table_least: float
    number: float
    blocks: int


A4 = PageStyle(
    width=210.0, height=297.0, margin=11.0, gap=4.5, title=9.0, body=3.5, head=23.0, value=6.6,
    small=2.6, profile=37.0, side=52.0, map_least=84.0, table_most=3.7, table_least=2.75,
    number=2.0, blocks=2,
)  # fmt: skip
A5 = PageStyle(
    width=148.0, height=210.0, margin=8.0, gap=3.0, title=6.8, body=2.9, head=18.0, value=5.0,
    small=2.15, profile=27.0, side=38.0, map_least=52.0, table_most=3.1, table_least=2.45,
    number=1.65, blocks=2,
)  # fmt: skip
SECTION_EM = 1.75


def card_picture(sheet: CardInput, *, paper: Paper = "A4") -> Picture:
    """Lay a card out on ``paper``: ``A4``, ``A5`` (both upright) or ``strip``."""
    if paper == "strip":
        return strip_picture(sheet)
    return page_picture(sheet, A4 if paper == "A4" else A5)


def page_picture(sheet: CardInput, style: PageStyle) -> Picture:
    """Lay a card out on one upright page of the given style."""
    page = Box(left=0, top=0, width=style.width, height=style.height)
    inner = page.inset(style.margin)
    foot = foot_lines(sheet, inner.width, size=style.small)
    parts = _stack(sheet, style, inner, foot_height(foot, style.small))
    marks: list[Mark] = [panel(page, fill=palette.PRINT_PAPER, layer="paper")]
    marks += head_panel(sheet, parts.head, title_mm=style.title, body_mm=style.body)
    marks += figure_row(figures(sheet), parts.figures, value_mm=style.value)
    marks += map_panel(sheet, parts.map, radius=style.number)
    marks += _side(sheet, parts.side, style)
    marks += _profile(sheet, parts.profile, style)
    marks += _table(parts, style)
    marks += foot_panel(foot, inner, size=style.small)
    return Picture(
        width_mm=style.width, height_mm=style.height, marks=tuple(marks), title=title_of(sheet)
    )


def title_of(sheet: CardInput) -> str:
    """Document title: loop and area."""
    name = sheet.name or "Unnamed loop"
    return f"{name}, {sheet.area}" if sheet.area else name


@dataclass(frozen=True, slots=True, kw_only=True)
class Parts:
    """Where each part of a page stands, and the table that goes with it."""

    head: Box
    figures: Box
    map: Box
    side: Box
    profile: Box
    table_box: Box
    table: Table
    plan: TablePlan


def _stack(sheet: CardInput, style: PageStyle, inner: Box, foot: float) -> Parts:
    """Give every part its height; the map takes what the table leaves."""
    content = content_for(sheet)
    table = table_for(sheet, content)
    figures_height = 2.55 * style.value
    profile = style.profile if sheet.course.has_heights else 8.0
    section = SECTION_EM * style.body
    fixed = style.head + figures_height + profile + 2 * section + foot + 5 * style.gap
    room = inner.height - fixed
    plan = plan_table(
        table, sheet, width=inner.width, height=room - style.map_least,
        most_mm=style.table_most, least_mm=style.table_least, most_blocks=style.blocks,
    )  # fmt: skip
    map_height = room - (plan.height if plan.rows else 0.0)
    tops: list[float] = []
    top = inner.top
    for height in (style.head, figures_height, map_height, section + profile, section):
        tops.append(top)
        top += height + style.gap
    wide = inner.width - style.side - style.gap
    return Parts(
        head=Box(left=inner.left, top=tops[0], width=inner.width, height=style.head),
        figures=Box(left=inner.left, top=tops[1], width=inner.width, height=figures_height),
        map=Box(left=inner.left, top=tops[2], width=wide, height=map_height),
        side=Box(left=inner.right - style.side, top=tops[2], width=style.side, height=map_height),
        profile=Box(left=inner.left, top=tops[3], width=inner.width, height=section + profile),
        table_box=Box(
            left=inner.left, top=tops[4], width=inner.width, height=section + plan.height
        ),
        table=table,
        plan=plan,
    )


def _side(sheet: CardInput, box: Box, style: PageStyle) -> list[Mark]:
    row, section = 2.35 * style.body, SECTION_EM * style.body + 1.0
    asks = min(len(sheet.asks) * row, 0.6 * box.height) if sheet.asks else 0.0
    marks: list[Mark] = []
    top = box.top
    if sheet.asks:
        head = Box(left=box.left, top=top, width=box.width, height=section)
        marks += section_head("Asked of a lap, given", head, size=style.body)
        rows = Box(left=box.left, top=top + section, width=box.width, height=asks)
        marks += asks_rows(sheet, rows, size=style.body)
        top += section + asks + 1.5
    if sheet.ground_m:
        head = Box(left=box.left, top=top, width=box.width, height=section)
        marks += section_head("Ground", head, size=style.body)
        left = box.bottom - top - section
        rows = Box(left=box.left, top=top + section, width=box.width, height=left)
        marks += ground_rows(sheet, rows, size=style.body)
    return marks


def _profile(sheet: CardInput, box: Box, style: PageStyle) -> list[Mark]:
    section = SECTION_EM * style.body
    plot = Box(left=box.left, top=box.top + section, width=box.width, height=box.height - section)
    marks: list[Mark] = [*section_head("Profile", box, size=style.body)]
    if sheet.course.has_heights:
        marks += grade_key(box, size=style.small)
    marks += profile_panel(sheet.course, plot, sheet.units, radius=style.number, size=style.small)
    return marks


def _table(parts: Parts, style: PageStyle) -> list[Mark]:
    if not parts.plan.rows:
        return []
    section = SECTION_EM * style.body
    box = parts.table_box
    rows = Box(left=box.left, top=box.top + section, width=box.width, height=box.height - section)
    head = section_head(parts.table.title, box, size=style.body)
    return [*head, *table_panel(parts.table, parts.plan, rows)]
