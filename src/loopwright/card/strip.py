"""The strip that is taped on the top tube: numbers to glance at, in riding order.

Gets what a card is made from; gives a tall narrow picture. Promises: what matters least goes first,
and a last row says how many features are not listed.
"""

from __future__ import annotations

from loopwright.card import palette
from loopwright.card.boxes import Box, panel, rule, text
from loopwright.card.contents import content_for, rows_worth_listing
from loopwright.card.foot_panel import SHORT_CAUTIONS, attribution_lines, foot_height, foot_panel
from loopwright.card.head_panel import (
    INVENTED_SHORT,
    UNNAMED,
    session_lines,
    title_lines,
)
from loopwright.card.measure import line_step, width_mm, wrap
from loopwright.card.number_marks import label_marks, shape_mark
from loopwright.card.page_style import MOST_ROWS
from loopwright.card.sheet import CardInput
from loopwright.card.table_plan import worthiest
from loopwright.card.table_rows import Row, table_for
from loopwright.card.words import interval_words
from loopwright.model.picture import Mark, Picture
from loopwright.model.season import DayLabel
from loopwright.units import distance, duration

WIDTH_MM, HEIGHT_MM, MARGIN_MM = 48.0, 200.0, 2.5
TITLE_MM, BIG_MM, BODY_MM, SMALL_MM = 5.0, 7.0, 3.0, 2.5
ROW_MOST_MM, ROW_LEAST_MM = 8.4, 5.2
ROW_TEXT_MM, NAME_SHARE = 4.2, 0.82
SOFT = palette.LIGHT.soft_ink


def strip_picture(sheet: CardInput) -> Picture:
    """Lay out a strip of 48 by 200 mm."""
    page = Box(left=0, top=0, width=WIDTH_MM, height=HEIGHT_MM)
    inner = page.inset(MARGIN_MM)
    marks: list[Mark] = [
        panel(page, fill=palette.PRINT_PAPER, layer="paper"),
        panel(page.inset(0.15), fill=None, edge=SOFT, width=0.2, layer="cut"),
    ]
    top, head = _head(sheet, inner)
    foot = _foot(sheet, inner)
    foot_top = inner.bottom - foot_height(foot, SMALL_MM)
    room = Box(left=inner.left, top=top, width=inner.width, height=foot_top - 1.0 - top)
    marks += [*head, *_rows(sheet, room), *foot_panel(foot, inner, size=SMALL_MM)]
    name = sheet.name or UNNAMED
    return Picture(width_mm=WIDTH_MM, height_mm=HEIGHT_MM, marks=tuple(marks), title=name)


def _head(sheet: CardInput, box: Box) -> tuple[float, list[Mark]]:
    name = sheet.name or UNNAMED
    size, lines = title_lines(name, box.width, most_mm=TITLE_MM)
    marks: list[Mark] = []
    y = box.top + 0.95 * size
    for i, line in enumerate(lines):
        y += line_step(lines[i - 1], line) * size if i else 0.0
        marks.append(text(box.left, y, line, size, bold=True))
    y += 0.2 * size
    if sheet.plan is not None and not _easy(sheet):
        y += 1.12 * BIG_MM
        time, words = (
            duration(sheet.plan.lap_time_s),
            interval_words(sheet.plan.low_s, sheet.plan.high_s),
        )
        marks.append(text(box.left, y, time, BIG_MM, bold=True))
        if width_mm(time, BIG_MM, bold=True) + width_mm(words, BODY_MM) > box.width - 1.0:
            y += 1.5 * BODY_MM
        marks.append(text(box.right, y, words, BODY_MM, anchor="right", colour=SOFT))
        y += 0.2 * BODY_MM
    for words, bold in _lines(sheet):
        for line in wrap(words, BODY_MM, box.width, bold=bold, most=2):
            y += 1.35 * BODY_MM
            marks.append(text(box.left, y, line, BODY_MM, bold=bold))
    marks.append(rule(box, y + 1.2, colour=palette.ACCENT, width=0.4))
    return y + 1.6, marks


def _easy(sheet: CardInput) -> bool:
    return sheet.session is not None and sheet.session.label is DayLabel.RECOVERY


def _lines(sheet: CardInput) -> list[tuple[str, bool]]:
    lines = [(f"One lap {distance(sheet.course.length_m, sheet.units)}", False)]
    if sheet.session is not None:
        label = sheet.session.label
        name = "" if label is DayLabel.OPEN else f"{label.value.upper()}: "
        lines.append((name + session_lines(sheet.session)[1], True))
    if sheet.invented:
        lines.append((INVENTED_SHORT, True))
    return lines


def _foot(sheet: CardInput, box: Box) -> tuple[str, ...]:
    owed = attribution_lines(sheet, SMALL_MM, box.width)
    return (*wrap(SHORT_CAUTIONS, SMALL_MM, box.width), *owed)


def _rows(sheet: CardInput, box: Box) -> list[Mark]:
    content = content_for(sheet)
    table = table_for(sheet, content)
    there = worthiest(table, sheet, rows_worth_listing(sheet, content, MOST_ROWS))
    most = max(1, int(box.height / ROW_LEAST_MM))
    fits = len(there) <= most and len(there) == len(table.rows)
    best = {row.feature.number for row in worthiest(table, sheet, most if fits else most - 1)}
    kept = tuple(row for row in there if row.feature.number in best)
    rows = table.rows
    lines = len(kept) + (1 if len(kept) < len(rows) else 0)
    height = min(ROW_MOST_MM, box.height / max(1, lines))
    marks: list[Mark] = []
    em = _row_size(kept, box.width, height)
    for i, row in enumerate(kept):
        line = Box(left=box.left, top=box.top + i * height, width=box.width, height=height)
        marks += _row(row, line, em)
    if len(kept) < len(rows):
        y = box.top + (lines - 0.35) * height
        words = f"and {len(rows) - len(kept)} more on the loop"
        marks.append(text(box.left, y, words, BODY_MM, colour=SOFT))
    return marks


def _row_size(rows: tuple[Row, ...], width: float, height: float) -> float:
    """Largest em height at which every row's name and target fit side by side."""
    em = min(ROW_TEXT_MM, 0.56 * height)
    needs = [
        NAME_SHARE * width_mm(row.glance, 1.0) + width_mm(strip_target(row), 1.0, bold=True)
        for row in rows
    ]
    room = width - 2 * _radius(height) - 2.8
    return min([em, *(room / (need + 1.3) for need in needs)])


def _radius(height: float) -> float:
    return min(2.5, 0.42 * height)


def _row(row: Row, box: Box, em: float) -> list[Mark]:
    middle = box.top + box.height / 2
    base = middle + 0.36 * em
    radius = _radius(box.height)
    shape_x = box.left + 2 * radius + 1.0 + 0.45 * em
    name_mm = NAME_SHARE * em
    return [
        *label_marks(box.left + radius, middle, row.feature.number, radius=radius, layer="rows"),
        shape_mark(row.feature.kind, shape_x, middle, radius=0.45 * em),
        text(shape_x + 0.45 * em + 0.8, base, row.glance, name_mm),
        text(box.right, base, strip_target(row), em, anchor="right", bold=True),
        rule(box, box.bottom, width=0.12),
    ]


def strip_target(row: Row) -> str:
    """Give the one target worth a glance, on an easy day the effort alone, else the place."""
    if "split" not in row.cells:
        return next((cell for cell in row.cells.values() if cell), row.place)
    return row.target or row.place
