"""Draw the feature table as planned.

Gets a table, its plan and a box; gives marks. Promises: rows follow the riding order down each
block, blocks follow from left to right.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TypeAlias

from loopwright.card import palette
from loopwright.card.boxes import Box, columns, rule, text
from loopwright.card.contents import ColumnName
from loopwright.card.measure import width_mm
from loopwright.card.number_marks import label_marks, shape_mark
from loopwright.card.table_plan import (
    BLOCK_GAP_MM,
    HEAD_EM,
    PAD_EM,
    ROW_EM,
    SIGNS_EM,
    TablePlan,
    column_width,
    place_width,
)
from loopwright.card.table_rows import Row, Table
from loopwright.model.picture import Mark, Text

RIGHT_ALIGNED = frozenset({"clock", "split", "range", "look"})
RIGHT_TO_LEFT: tuple[ColumnName, ...] = (
    "drive", "look", "target", "effort", "range", "split", "clock",
)  # fmt: skip
CELLS = "cells"
SOFT = palette.LIGHT.soft_ink
Edges: TypeAlias = Mapping[str, tuple[float, float]]


def table_panel(table: Table, plan: TablePlan, box: Box) -> tuple[Mark, ...]:
    """Draw the key if names are brief, then the blocks."""
    marks: list[Mark] = []
    if plan.brief:
        marks += shape_key(plan, box)
        drop = 1.2 * plan.row_mm
        box = Box(left=box.left, top=box.top + drop, width=box.width, height=box.height - drop)
    parts = columns(box, plan.blocks, gap=BLOCK_GAP_MM)
    for i, part in enumerate(parts):
        rows = plan.rows[i * plan.lines : (i + 1) * plan.lines]
        if rows or i == 0:
            marks += _block(table, plan, rows, part)
    if plan.left_out:
        block, place = divmod(len(plan.rows), plan.lines)
        y = box.top + (place + 2) * plan.row_mm
        words = f"and {plan.left_out} more, as shapes alone"
        marks.append(text(parts[block].left + 0.3, y, words, plan.size, colour=SOFT))
    return tuple(marks)


def shape_key(plan: TablePlan, box: Box) -> tuple[Mark, ...]:
    """Say in one line what the shapes in this table stand for."""
    size = plan.size
    base = box.top + 0.95 * plan.row_mm
    left = box.left + 0.5 * size
    marks: list[Mark] = []
    for kind, style in palette.FEATURE.items():
        need = width_mm(style.words, size) + 2.4 * size
        if all(row.feature.kind is not kind for row in plan.rows) or left + need > box.right:
            continue
        marks.append(shape_mark(kind, left, base - 0.36 * size, radius=0.48 * size))
        marks.append(text(left + 0.8 * size, base, style.words, size))
        left += need
    return tuple(marks)


def _block(table: Table, plan: TablePlan, rows: tuple[Row, ...], box: Box) -> list[Mark]:
    size = plan.size
    edges = _edges(table, plan, box)
    marks = _block_head(table, plan, edges, box)
    low = 0.38 * size + (plan.row_mm - ROW_EM * size) / 2
    for i, row in enumerate(rows):
        base = box.top + (i + 2) * plan.row_mm
        marks += _row_marks(plan, row, edges, base=base, box=box)
        marks.append(rule(box, base + low, width=0.12))
    return marks


def _edges(table: Table, plan: TablePlan, box: Box) -> Edges:
    """Left and right edge of each column; targets stand at the right, spare room after names."""
    size = plan.size
    found: dict[str, tuple[float, float]] = {}
    right = box.right
    for column in (c for c in RIGHT_TO_LEFT if c in plan.columns):
        width = column_width(table, plan, column)
        found[column] = (right - width + PAD_EM * size, right)
        right -= width
    left = box.left + SIGNS_EM * size
    name = left + place_width(table, plan)
    found["place"] = (left, name - PAD_EM * size)
    found["name"] = (name, right)
    return found


def _block_head(table: Table, plan: TablePlan, edges: Edges, box: Box) -> list[Mark]:
    small = HEAD_EM * plan.size
    base = box.top + plan.row_mm - 0.1 * plan.size
    marks: list[Mark] = []
    if plan.place:
        at = edges["place"][1]
        marks.append(text(at, base, table.place_head, small, anchor="right", colour=SOFT))
    for column in plan.columns:
        head = table.heads[column]
        marks.append(_cell(column, edges[column], base, head, size=small, colour=SOFT, layer=""))
    marks.append(rule(box, base + 0.42 * plan.size, colour=SOFT, width=0.2))
    return marks


def _row_marks(plan: TablePlan, row: Row, edges: Edges, *, base: float, box: Box) -> list[Mark]:
    size = plan.size
    middle = base - 0.36 * size
    radius = 0.62 * size
    marks: list[Mark] = [
        *label_marks(
            box.left + radius + 0.1, middle, row.feature.number, radius=radius, layer="rows"
        ),
        shape_mark(row.feature.kind, box.left + 2.15 * size, middle, radius=0.48 * size),
        *(
            [text(edges["place"][1], base, row.place, size, anchor="right", layer=CELLS)]
            if plan.place
            else []
        ),
        text(edges["name"][0], base, plan.name(row), size, bold=row.wanted, layer=CELLS),
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
    layer: str = CELLS,
) -> Text:
    left, right = edges
    if column in RIGHT_ALIGNED:
        return text(right, base, words, size, anchor="right", bold=bold, colour=colour, layer=layer)
    return text(left, base, words, size, bold=bold, colour=colour, layer=layer)
