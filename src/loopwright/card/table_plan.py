"""Decide how the feature table stands in the room there is.

Gets a table, a width and a height; gives text size, blocks side by side, names and columns.
Promises: text never gets smaller than the least size; first it shrinks, then blocks stand side by
side, then names get brief (with a key to the shapes), and only then features of least worth are
left out, counted in a last row.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from loopwright.card.contents import ColumnName, by_worth
from loopwright.card.measure import width_mm
from loopwright.card.sheet import CardInput
from loopwright.card.table_rows import Row, Table

ROW_EM, MOST_ROW_EM = 1.5, 2.0
SIGNS_EM = 3.0
PAD_EM = 0.75
HEAD_EM = 0.9
BLOCK_GAP_MM = 4.0
SIZE_STEPS = 6
WAYS = (
    (1, False, 9, True),
    (1, False, 3, True),
    (2, False, 2, True),
    (2, True, 2, True),
    (2, True, 2, False),
    (3, True, 2, False),
    (3, True, 1, True),
    (2, True, 1, True),
)
"""Blocks, brief names, columns of targets asked for, the place along the lap: tried in this order.
A second target is worth more than the place, which the profile shows too."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TableRoom:
    """Room for a table in millimetres, and the em heights its text may have."""

    width: float
    height: float
    most_mm: float
    least_mm: float
    most_rows: int

    def block(self, blocks: int) -> float:
        """Width of one of ``blocks`` side by side."""
        return (self.width - BLOCK_GAP_MM * (blocks - 1)) / blocks

    def sizes(self) -> tuple[float, ...]:
        """Em heights to try, largest first."""
        step = (self.most_mm - self.least_mm) / SIZE_STEPS
        return tuple(self.most_mm - step * i for i in range(SIZE_STEPS + 1))


@dataclass(frozen=True, slots=True, kw_only=True)
class TablePlan:
    """How a table will stand: text size, blocks side by side, rows shown, columns kept."""

    size: float
    blocks: int
    brief: bool
    rows: tuple[Row, ...]
    left_out: int
    columns: tuple[ColumnName, ...]
    place: bool = True
    pitch: float = ROW_EM

    @property
    def row_mm(self) -> float:
        """Height of a row."""
        return self.pitch * self.size

    def airy(self, height: float) -> TablePlan:
        """Give the same plan with rows further apart, as far as they fit ``height``."""
        return replace(self, pitch=min(MOST_ROW_EM, self.pitch * height / self.height))

    @property
    def lines(self) -> int:
        """Rows of the longest block, without its head."""
        total = len(self.rows) + (1 if self.left_out else 0)
        return max(1, -(-total // self.blocks))

    @property
    def height(self) -> float:
        """Millimetres the table takes, with its head and the key to the shapes."""
        return (self.lines + 1.15 + (1.2 if self.brief else 0.0)) * self.row_mm

    def loss(self, rows: int, targets: int) -> tuple[int, int]:
        """Tell how many rows and columns of targets are missing to these numbers."""
        return max(0, rows - len(self.rows)), max(0, targets - len(self.columns))

    def name(self, row: Row) -> str:
        """Give the name this plan prints for a row."""
        return row.brief if self.brief else row.name


NO_TABLE = TablePlan(size=1.0, blocks=1, brief=False, rows=(), left_out=0, columns=())


def plan_table(table: Table, sheet: CardInput, room: TableRoom) -> TablePlan:
    """Choose the largest, fullest layout that fits; leaves rows out only if it must."""
    rows = worthiest(table, sheet, room.most_rows)
    for blocks, brief, wish, place in WAYS:
        for size in room.sizes():
            plan = _try(table, rows, room, blocks=blocks, brief=brief, size=size, place=place)
            first = table.columns[:wish]
            if plan is not None and plan.height <= room.height and set(first) <= set(plan.columns):
                return plan
    return _shortened(table, sheet, room)


def _try(
    table: Table,
    rows: tuple[Row, ...],
    room: TableRoom,
    *,
    blocks: int,
    brief: bool,
    size: float,
    place: bool = True,
) -> TablePlan | None:
    """Plan with these rows, None when number, place and name alone are too wide."""
    plan = TablePlan(
        size=size,
        blocks=blocks,
        brief=brief,
        rows=rows,
        left_out=len(table.rows) - len(rows),
        columns=(),
        place=place,
    )
    free = room.block(blocks) - _fixed_width(table, plan)
    if free < 0:
        return None
    kept: list[ColumnName] = []
    for column in table.columns:
        need = column_width(table, plan, column)
        if need <= free:
            kept.append(column)
            free -= need
    return replace(plan, columns=tuple(kept))


def _shortened(table: Table, sheet: CardInput, room: TableRoom) -> TablePlan:
    """Leave out what is worth least until the rest fits at the least size."""
    for keep in range(min(len(table.rows) - 1, room.most_rows), 0, -1):
        rows = worthiest(table, sheet, keep)
        for blocks in (3, 2, 1):
            plan = _try(table, rows, room, blocks=blocks, brief=True, size=room.least_mm)
            first = set(table.columns[:1])
            if plan is not None and first <= set(plan.columns) and plan.height <= room.height:
                return plan
    return TablePlan(
        size=room.least_mm, blocks=1, brief=False, rows=(), left_out=len(table.rows), columns=()
    )


def worthiest(table: Table, sheet: CardInput, most: int) -> tuple[Row, ...]:
    """Give the rows of most worth, in riding order."""
    order = sorted(table.rows, key=lambda row: by_worth(row.feature, sheet))
    numbers = {row.feature.number for row in order[:most]}
    return tuple(row for row in table.rows if row.feature.number in numbers)


def _fixed_width(table: Table, plan: TablePlan) -> float:
    size = plan.size
    names = max((width_mm(plan.name(row), size, bold=row.wanted) for row in plan.rows), default=0.0)
    return SIGNS_EM * size + place_width(table, plan) + names + PAD_EM * size


def place_width(table: Table, plan: TablePlan) -> float:
    """Width of the column of places along the lap, 0 where it gave way."""
    if not plan.place:
        return 0.0
    widths = [width_mm(row.place, plan.size) for row in plan.rows]
    head = width_mm(table.place_head, HEAD_EM * plan.size)
    return max([head, *widths]) + PAD_EM * plan.size


def column_width(table: Table, plan: TablePlan, column: ColumnName) -> float:
    """Width of a column of targets with its gap."""
    bold = column == "split"
    widths = [width_mm(row.cells[column], plan.size, bold=bold) for row in plan.rows]
    head = width_mm(table.heads[column], HEAD_EM * plan.size)
    return max([head, *widths]) + PAD_EM * plan.size
