"""The pages: A4, A5 and the strip for the top tube.

Gets what a card is made from and a paper; gives a picture. Promises: the same input gives the same
picture; nothing leaves the page and no two lines of text touch.
"""

from __future__ import annotations

from dataclasses import dataclass

from loopwright.card import palette
from loopwright.card.boxes import Box, panel, text
from loopwright.card.choose import with_features, without_doubles
from loopwright.card.contents import content_for, rows_worth_listing
from loopwright.card.foot_panel import foot_height, foot_lines, foot_panel
from loopwright.card.head_panel import UNNAMED, HeadStyle, figure_row, figures, head_panel
from loopwright.card.map_panel import map_panel
from loopwright.card.profile_panel import grade_key, profile_panel
from loopwright.card.sheet import CardInput, Paper
from loopwright.card.side_panel import SECTION_EM, section_head, side_panel
from loopwright.card.strip import strip_picture
from loopwright.card.table_panel import table_panel
from loopwright.card.table_plan import TablePlan, TableRoom, plan_table
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
    code: float
    value: float
    small: float
    profile: float
    side: float
    map_least: float
    table_most: float
    table_least: float
    number: float
    most_rows: int
    targets: int


A4 = PageStyle(
    width=210.0, height=297.0, margin=11.0, gap=4.2, title=9.0, body=3.5, code=22.0, value=6.6,
    small=2.6, profile=36.0, side=52.0, map_least=76.0, table_most=3.5, table_least=2.75,
    number=2.0, most_rows=40, targets=2,
)  # fmt: skip
A5 = PageStyle(
    width=148.0, height=210.0, margin=8.0, gap=2.6, title=6.6, body=2.9, code=17.0, value=5.0,
    small=2.15, profile=29.0, side=38.0, map_least=50.0, table_most=2.9, table_least=2.5,
    number=1.65, most_rows=24, targets=1,
)  # fmt: skip
TIGHTER = (1.0, 0.85, 0.75)
"""The map shrinks to these shares of its least height before the table loses anything."""


def card_picture(sheet: CardInput, *, paper: Paper = "A4") -> Picture:
    """Lay a card out on ``paper``: ``A4``, ``A5`` (both upright) or ``strip``."""
    if paper == "strip":
        return strip_picture(sheet)
    return page_picture(sheet, A4 if paper == "A4" else A5)


def page_picture(sheet: CardInput, style: PageStyle) -> Picture:
    """Lay a card out on one upright page of the given style."""
    sheet = without_doubles(sheet)
    page = Box(left=0, top=0, width=style.width, height=style.height)
    inner = page.inset(style.margin)
    head_style = HeadStyle(title=style.title, body=style.body, code=style.code)
    head_end, head = head_panel(sheet, inner, head_style)
    foot = foot_lines(sheet, inner.width, size=style.small, brief=style is A5)
    foot_top = inner.bottom - foot_height(foot, style.small)
    top = head_end + style.gap
    body = Box(left=inner.left, top=top, width=inner.width, height=foot_top - style.gap - top)
    parts = _stack(sheet, style, body)
    marks: list[Mark] = [panel(page, fill=palette.PRINT_PAPER, layer="paper"), *head]
    marks += figure_row(figures(sheet), parts.figures, value_mm=style.value)
    numbered = with_features(sheet, (row.feature.number for row in parts.plan.rows))
    others = tuple(f for f in sheet.course.features if f not in numbered.course.features)
    marks += map_panel(numbered, parts.map, radius=style.number, unnumbered=others)
    marks += side_panel(sheet, parts.side, size=style.body)
    marks += _profile(numbered, parts.profile, style)
    marks += _table(parts, style)
    marks += foot_panel(foot, inner, size=style.small)
    return Picture(
        width_mm=style.width, height_mm=style.height, marks=tuple(marks), title=title_of(sheet)
    )


def title_of(sheet: CardInput) -> str:
    """Document title: loop and area."""
    name = sheet.name or UNNAMED
    return f"{name}, {sheet.area}" if sheet.area else name


@dataclass(frozen=True, slots=True, kw_only=True)
class Parts:
    """Where each part under the head stands, and the table that goes with it."""

    figures: Box
    map: Box
    side: Box
    profile: Box
    table_box: Box
    table: Table
    plan: TablePlan


def _stack(sheet: CardInput, style: PageStyle, body: Box) -> Parts:
    """Give every part its height; the map takes what the table leaves."""
    content = content_for(sheet)
    table = table_for(sheet, content)
    most = rows_worth_listing(sheet, content, style.most_rows)
    section = SECTION_EM * style.body
    figures_height = 2.3 * style.value
    profile = section + (style.profile if sheet.course.has_heights else 6.0)
    free = body.height - figures_height - profile - section - 3 * style.gap
    plan = _best_plan(table, sheet, style, Box(left=0, top=0, width=body.width, height=free), most)
    table_height = section + plan.height if plan.rows else 0.0
    map_height = free + section - table_height
    figures_box, low = _cut(body, figures_height, style.gap)
    map_box, low = _cut(low, map_height, style.gap)
    profile_box, table_box = _cut(low, profile, style.gap)
    wide = body.width - style.side - style.gap
    side = Box(left=body.right - style.side, top=map_box.top, width=style.side, height=map_height)
    return Parts(
        figures=figures_box,
        map=Box(left=body.left, top=map_box.top, width=wide, height=map_height),
        side=side,
        profile=profile_box,
        table_box=table_box,
        table=table,
        plan=plan,
    )


def _best_plan(table: Table, sheet: CardInput, style: PageStyle, free: Box, most: int) -> TablePlan:
    """Give the map less height step by step while the table loses rows or targets by it."""
    aim = min(len(table.rows), most), min(len(table.columns), style.targets)
    plans: list[TablePlan] = []
    for tight in TIGHTER:
        room = TableRoom(
            width=free.width,
            height=free.height - tight * style.map_least,
            most_mm=style.table_most,
            least_mm=style.table_least,
            most_rows=most,
        )
        plans.append(plan_table(table, sheet, room))
        if plans[-1].loss(*aim) == (0, 0):
            break
    return min(plans, key=lambda plan: plan.loss(*aim))


def _cut(box: Box, height: float, gap: float) -> tuple[Box, Box]:
    """Cut ``height`` off the top; the rest begins ``gap`` lower."""
    top = Box(left=box.left, top=box.top, width=box.width, height=height)
    below = box.top + height + gap
    rest = Box(left=box.left, top=below, width=box.width, height=box.bottom - below)
    return top, rest


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
    meaning = text(
        box.right, box.top + style.body, _meaning(parts), style.small, anchor="right",
        colour=palette.LIGHT.soft_ink,
    )  # fmt: skip
    return [*head, meaning, *table_panel(parts.table, parts.plan, rows)]


def _meaning(parts: Parts) -> str:
    """Say what the columns of targets mean, of those that are there."""
    said = {
        "range": "range: 90 %",
        "target": f"hold: power or effort, in corners in/lowest/out, {parts.table.speed_unit}",
        "effort": "hold: power or effort",
        "look": "look ahead: where to look at that speed",
    }
    return "; ".join(words for column, words in said.items() if column in parts.plan.columns)
