"""The pages: A4, A5 (two when there is much to say) and the strip for the top tube.

Gets what a card is made from and a paper; gives pictures. Promises: the same input gives the same
pictures; nothing leaves a page and no two lines of text touch.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from loopwright.card import palette
from loopwright.card.boxes import Box, panel, text
from loopwright.card.choose import split_up
from loopwright.card.contents import content_for, rows_worth_listing
from loopwright.card.foot_panel import foot_height, foot_lines, foot_panel
from loopwright.card.head_panel import (
    UNNAMED,
    HeadStyle,
    figure_row,
    figures,
    head_panel,
    label_row,
    title_lines,
)
from loopwright.card.map_panel import map_panel
from loopwright.card.page_style import A4, A5, MOST_ROWS, PageStyle
from loopwright.card.profile_panel import grade_key, profile_panel
from loopwright.card.sheet import CardInput, Paper
from loopwright.card.side_panel import SECTION_EM, section_head, side_panel
from loopwright.card.strip import strip_picture
from loopwright.card.table_panel import table_panel
from loopwright.card.table_plan import NO_TABLE, TablePlan, TableRoom, plan_table
from loopwright.card.table_rows import Table, table_for
from loopwright.model.picture import Mark, Picture

PROFILE_ALONE = 1.3
"""The profile grows so when the table stands on the back."""
TIGHTER = (1.0, 0.85, 0.75)
"""The map shrinks to these shares of its least height before the table loses anything."""


def card_pages(sheet: CardInput, *, paper: Paper = "A4") -> tuple[Picture, ...]:
    """Lay a card out on ``paper``: ``A4``, ``A5`` (both upright) or ``strip``.

    Gives one page, or two on A5 when the targets find no room on the first at a readable size.
    """
    if paper == "strip":
        return (strip_picture(sheet),)
    return upright_pages(sheet, A4 if paper == "A4" else A5)


def upright_pages(sheet: CardInput, style: PageStyle) -> tuple[Picture, ...]:
    """Lay a card out on upright pages of the given style."""
    page = Box(left=0, top=0, width=style.width, height=style.height)
    inner = page.inset(style.margin)
    head_end, head = head_panel(
        sheet, inner, HeadStyle(title=style.title, body=style.body, code=style.code)
    )
    foot = foot_lines(sheet, inner.width, size=style.small, brief=style.brief)
    foot_top = inner.bottom - foot_height(foot, style.small)
    top = head_end + style.gap
    body = Box(left=inner.left, top=top, width=inner.width, height=foot_top - style.gap - top)
    content = content_for(sheet)
    table = table_for(sheet, content)
    most = rows_worth_listing(sheet, content, MOST_ROWS)
    plan, turned_over = _plan(table, sheet, style, body, most)
    if turned_over:
        style = replace(style, profile=PROFILE_ALONE * style.profile)
    parts = _stack(sheet, style, body, NO_TABLE if turned_over else plan)
    listed, others = split_up(sheet, plan.rows)
    marks = [panel(page, fill=palette.PRINT_PAPER, layer="paper"), *head]
    marks += figure_row(figures(sheet), parts.figures, value_mm=style.value)
    marks += map_panel(listed, parts.map, radius=style.number, unnumbered=others)
    marks += side_panel(sheet, parts.side, size=style.body)
    marks += _profile(listed, parts.profile, style)
    marks += [] if turned_over else _table(table, plan, parts.table, style)
    marks += foot_panel(foot, inner, size=style.small)
    front = _picture(sheet, style, marks)
    return (front, _back(sheet, style, table, plan)) if turned_over else (front,)


def _picture(sheet: CardInput, style: PageStyle, marks: list[Mark]) -> Picture:
    return Picture(
        width_mm=style.width, height_mm=style.height, marks=tuple(marks), title=title_of(sheet)
    )


def title_of(sheet: CardInput) -> str:
    """Document title: loop and area."""
    name = sheet.name or UNNAMED
    return f"{name}, {sheet.area}" if sheet.area else name


@dataclass(frozen=True, slots=True, kw_only=True)
class Parts:
    """Where each part under the head stands."""

    figures: Box
    map: Box
    side: Box
    profile: Box
    table: Box


def _profile_height(sheet: CardInput, style: PageStyle) -> float:
    plot = style.profile if sheet.course.has_heights else 6.0
    return SECTION_EM * style.body + plot


def _free(sheet: CardInput, style: PageStyle, body: Box) -> float:
    """Height that map and table share."""
    fixed = 2.3 * style.value + _profile_height(sheet, style) + SECTION_EM * style.body
    return body.height - fixed - 3 * style.gap


def _stack(sheet: CardInput, style: PageStyle, body: Box, plan: TablePlan) -> Parts:
    """Give every part its height; the map takes what the table leaves."""
    section = SECTION_EM * style.body
    table_height = section + plan.height if plan.rows else 0.0
    map_height = _free(sheet, style, body) + section - table_height
    figures_box, low = _cut(body, 2.3 * style.value, style.gap)
    map_box, low = _cut(low, map_height, style.gap)
    profile_box, table_box = _cut(low, _profile_height(sheet, style), style.gap)
    wide = body.width - style.side - style.gap
    return Parts(
        figures=figures_box,
        map=Box(left=body.left, top=map_box.top, width=wide, height=map_height),
        side=Box(
            left=body.right - style.side, top=map_box.top, width=style.side, height=map_height
        ),
        profile=profile_box,
        table=table_box,
    )


def _plan(
    table: Table, sheet: CardInput, style: PageStyle, body: Box, most: int
) -> tuple[TablePlan, bool]:
    """Plan the table, and tell whether it stands on a page of its own."""
    aim = min(len(table.rows), most), min(len(table.columns), style.targets)
    free = _free(sheet, style, body)
    plan = _best_plan(table, sheet, style, Box(left=0, top=0, width=body.width, height=free), most)
    if style.back is None or plan.loss(*aim) == (0, 0):
        return plan, False
    least, largest = style.back
    room = TableRoom(
        width=body.width,
        height=style.height - 2 * style.margin - _back_rest(sheet, style),
        most_mm=largest,
        least_mm=least,
        most_rows=most,
    )
    plan = plan_table(table, sheet, room)
    return plan.airy(room.height), True


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


def _table(table: Table, plan: TablePlan, box: Box, style: PageStyle) -> list[Mark]:
    if not plan.rows:
        return []
    section = SECTION_EM * style.body
    rows = Box(left=box.left, top=box.top + section, width=box.width, height=box.height - section)
    head = section_head(table.title, box, size=style.body)
    meaning = text(
        box.right, box.top + style.body, _meaning(table, plan), style.small, anchor="right",
        colour=palette.LIGHT.soft_ink,
    )  # fmt: skip
    return [*head, meaning, *table_panel(table, plan, rows)]


def _meaning(table: Table, plan: TablePlan) -> str:
    """Say what the columns of targets mean, of those that are there."""
    said = {
        "range": "range: 90 %",
        "target": f"hold: power or effort, in corners in/lowest/out, {table.speed_unit}",
        "effort": "hold: power or effort",
        "look": "look ahead: where to look at that speed",
    }
    return "; ".join(words for column, words in said.items() if column in plan.columns)


# -- the back of A5 --------------------------------------------------------------------------


def _back_rest(sheet: CardInput, style: PageStyle) -> float:
    """Height that head, foot and section of the second page take from its table."""
    end, _ = _back_head(sheet, Box(left=0, top=0, width=_inner_width(style), height=0), style)
    foot = foot_lines(sheet, _inner_width(style), size=style.small, brief=style.brief)
    return end + 2 * style.gap + SECTION_EM * style.body + foot_height(foot, style.small)


def _inner_width(style: PageStyle) -> float:
    return style.width - 2 * style.margin


def _back_head(sheet: CardInput, box: Box, style: PageStyle) -> tuple[float, list[Mark]]:
    """Draw name and labels once more: pages part in a pocket."""
    size, lines = title_lines(sheet.name or UNNAMED, box.width, most_mm=0.7 * style.title)
    base = box.top + 1.1 * size
    marks: list[Mark] = [text(box.left, base, lines[0], size, bold=True, room_mm=box.width)]
    top = base + 0.6 * size
    labels = label_row(sheet, box.left, top, room=box.width, size=style.body)
    return (top + 1.62 * style.body if labels else top), [*marks, *labels]


def _back(sheet: CardInput, style: PageStyle, table: Table, plan: TablePlan) -> Picture:
    page = Box(left=0, top=0, width=style.width, height=style.height)
    inner = page.inset(style.margin)
    end, head = _back_head(sheet, inner, style)
    foot = foot_lines(sheet, inner.width, size=style.small, brief=style.brief)
    top = end + style.gap
    box = Box(left=inner.left, top=top, width=inner.width, height=inner.bottom - top)
    marks: list[Mark] = [panel(page, fill=palette.PRINT_PAPER, layer="paper"), *head]
    marks += _table(table, plan, box, style)
    marks += foot_panel(foot, inner, size=style.small)
    return _picture(sheet, style, marks)
