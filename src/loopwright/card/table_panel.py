"""Lay the feature table out in the room there is.

Gets a table and a box; gives marks. Promises: text never gets smaller than the least size; first
columns of little worth go, then blocks stand side by side, and only then are features of least
worth left out, with a row that says how many.
"""

from __future__ import annotations

from dataclasses import dataclass

from loopwright.card import palette
from loopwright.card.boxes import Box, columns, rule, text
from loopwright.card.contents import ColumnName, by_worth
from loopwright.card.measure import width_mm
from loopwright.card.number_marks import label_marks, shape_mark
from loopwright.card.sheet import CardInput
from loopwright.card.table_rows import Row, Table
from loopwright.model.picture import Mark, Text

ROW_EM = 1.52
SIGNS_EM = 3.1
PAD_EM = 0.85
BLOCK_GAP_MM = 7.0
RIGHT_ALIGNED = frozenset({"clock", "split", "range", "look"})
RIGHT_TO_LEFT: tuple[ColumnName, ...] = (
    "drive", "look", "speeds", "effort", "range", "split", "clock",
)  # fmt: skip
SOFT = palette.LIGHT.soft_ink


@dataclass(frozen=True, slots=True, kw_only=True)
class TablePlan:
    """How a table will stand: text size, blocks side by side, rows shown, columns kept."""

    size: float
    blocks: int
    rows: tuple[Row, ...]
    left_out: int
    columns: tuple[ColumnName, ...]

    @property
    def lines(self) -> int:
        """Rows of the longest block, without its head."""
        total = len(self.rows) + (1 if self.left_out else 0)
        return -(-total // self.blocks)

    @property
    def height(self) -> float:
        """Millimetres the table takes, its head included."""
        return (self.lines + 1.15) * ROW_EM * self.size


def plan_table(
    table: Table,
    sheet: CardInput,
    *,
    width: float,
    height: float,
    most_mm: float,
    least_mm: float,
    most_blocks: int = 3,
) -> TablePlan:
    """Choose the largest, fullest layout that fits; leaves rows out only if it must."""
    steps = 6
    sizes = [most_mm - (most_mm - least_mm) * i / steps for i in range(steps + 1)]
    for blocks in range(1, most_blocks + 1):
        room = (width - BLOCK_GAP_MM * (blocks - 1)) / blocks
        for size in sizes:
            kept = _kept_columns(table, table.rows, room=room, size=size)
            plan = TablePlan(
                size=size, blocks=blocks, rows=table.rows, left_out=0, columns=kept or ()
            )
            enough = kept is not None and (blocks == 1 or len(kept) >= min(2, len(table.columns)))
            if enough and plan.height <= height:
                return plan
    return _shortened(table, sheet, width=width, height=height, size=least_mm, blocks=most_blocks)


def _shortened(
    table: Table, sheet: CardInput, *, width: float, height: float, size: float, blocks: int
) -> TablePlan:
    while blocks > 1 and not _kept_columns(
        table, table.rows, room=(width - BLOCK_GAP_MM * (blocks - 1)) / blocks, size=size
    ):
        blocks -= 1
    room = (width - BLOCK_GAP_MM * (blocks - 1)) / blocks
    lines = max(1, int(height / (ROW_EM * size) - 1.15))
    keep = max(0, min(len(table.rows), lines * blocks - 1))
    best = sorted(table.rows, key=lambda row: by_worth(row.feature, sheet))[:keep]
    numbers = {row.feature.number for row in best}
    rows = tuple(row for row in table.rows if row.feature.number in numbers)
    kept = _kept_columns(table, rows, room=room, size=size) or ()
    left_out = len(table.rows) - len(rows)
    return TablePlan(size=size, blocks=blocks, rows=rows, left_out=left_out, columns=kept)


def _kept_columns(
    table: Table, rows: tuple[Row, ...], *, room: float, size: float
) -> tuple[ColumnName, ...] | None:
    """Columns that fit beside number, place and name, None when not even those fit."""
    free = room - _fixed_width(table, rows, size)
    if free < 0:
        return None
    kept: list[ColumnName] = []
    for column in table.columns:
        need = column_width(table, rows, column, size)
        if need <= free:
            kept.append(column)
            free -= need
    return tuple(kept)


def _fixed_width(table: Table, rows: tuple[Row, ...], size: float) -> float:
    names = max((width_mm(row.name, size, bold=row.wanted) for row in rows), default=0.0)
    return SIGNS_EM * size + place_width(table, rows, size) + names + PAD_EM * size


def place_width(table: Table, rows: tuple[Row, ...], size: float) -> float:
    """Width of the column of places along the lap."""
    words = [table.place_head, *(row.place for row in rows)]
    return max(width_mm(word, size) for word in words) + PAD_EM * size


def column_width(table: Table, rows: tuple[Row, ...], column: ColumnName, size: float) -> float:
    """Width of a column of targets with its gap."""
    cells = [row.cells[column] for row in rows]
    bold = column == "split"
    widest = max((width_mm(cell, size, bold=bold) for cell in cells), default=0.0)
    return max(widest, width_mm(table.heads[column], 0.82 * size)) + PAD_EM * size


def table_panel(table: Table, plan: TablePlan, box: Box) -> tuple[Mark, ...]:
    """Draw the table as planned, blocks from left to right, rows in riding order."""
    marks: list[Mark] = []
    parts = columns(box, plan.blocks, gap=BLOCK_GAP_MM)
    for i, part in enumerate(parts):
        rows = plan.rows[i * plan.lines : (i + 1) * plan.lines]
        if rows or i == 0:
            marks += _block(table, plan, rows, part)
    if plan.left_out:
        last, place = divmod(len(plan.rows), plan.lines)
        y = box.top + (place + 2) * ROW_EM * plan.size
        words = f"and {plan.left_out} more on the map"
        marks.append(text(parts[last].left + 0.3, y, words, plan.size, colour=SOFT))
    return tuple(marks)


def _block(table: Table, plan: TablePlan, rows: tuple[Row, ...], box: Box) -> list[Mark]:
    size = plan.size
    edges = _edges(table, plan, box)
    marks = _block_head(table, plan, edges, box)
    for i, row in enumerate(rows):
        base = box.top + (i + 2) * ROW_EM * size
        marks += _row_marks(plan, row, edges, base=base, box=box)
        marks.append(rule(box, base + 0.38 * size, width=0.12))
    return marks


def _edges(table: Table, plan: TablePlan, box: Box) -> dict[str, tuple[float, float]]:
    """Left and right edge of each column; targets stand at the right, spare room after names."""
    size = plan.size
    found: dict[str, tuple[float, float]] = {}
    right = box.right
    for column in (c for c in RIGHT_TO_LEFT if c in plan.columns):
        width = column_width(table, plan.rows, column, size)
        found[column] = (right - width + PAD_EM * size, right)
        right -= width
    left = box.left + SIGNS_EM * size
    place = left + place_width(table, plan.rows, size) - PAD_EM * size
    found["place"] = (left, place)
    found["name"] = (place + PAD_EM * size, right)
    return found


def _block_head(
    table: Table, plan: TablePlan, edges: dict[str, tuple[float, float]], box: Box
) -> list[Mark]:
    small = 0.82 * plan.size
    base = box.top + ROW_EM * plan.size - 0.1 * plan.size
    marks: list[Mark] = [
        text(edges["place"][1], base, table.place_head, small, anchor="right", colour=SOFT)
    ]
    for column in plan.columns:
        head = table.heads[column]
        marks.append(_cell(column, edges[column], base, head, size=small, colour=SOFT))
    marks.append(rule(box, base + 0.42 * plan.size, colour=SOFT, width=0.2))
    return marks


def _row_marks(
    plan: TablePlan,
    row: Row,
    edges: dict[str, tuple[float, float]],
    *,
    base: float,
    box: Box,
) -> list[Mark]:
    size = plan.size
    middle = base - 0.36 * size
    radius = 0.62 * size
    marks: list[Mark] = [
        *label_marks(box.left + radius + 0.1, middle, row.feature.number, radius=radius, layer=""),
        shape_mark(row.feature.kind, box.left + 2.15 * size, middle, radius=0.48 * size),
        text(edges["place"][1], base, row.place, size, anchor="right"),
        text(edges["name"][0], base, row.name, size, bold=row.wanted),
    ]
    for column in plan.columns:
        words, bold = row.cells[column], column == "split"
        if words:
            marks.append(_cell(column, edges[column], base, words, size=size, bold=bold))
    return marks


def _cell(
    column: ColumnName,
    edges: tuple[float, float],
    base: float,
    words: str,
    *,
    size: float,
    colour: str = palette.INK,
    bold: bool = False,
) -> Text:
    left, right = edges
    if column in RIGHT_ALIGNED:
        return text(right, base, words, size, anchor="right", bold=bold, colour=colour)
    return text(left, base, words, size, bold=bold, colour=colour)
