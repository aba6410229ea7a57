"""Which features a card numbers, and how.

Gets what a card is made from and the rows of its table; gives both with numbers from 1 in riding
order. Promises: no number is left out on the paper, and the map, the profile and the table use the
same ones.
"""

from __future__ import annotations

from dataclasses import replace

from loopwright.card.sheet import CardInput
from loopwright.card.table_rows import Row
from loopwright.model.course import CourseFeature, mark_m


def numbered(rows: tuple[Row, ...]) -> tuple[Row, ...]:
    """Give rows numbers from 1 in riding order."""
    return tuple(
        replace(row, feature=replace(row.feature, number=number))
        for number, row in enumerate(in_order(rows), start=1)
    )


def in_order(rows: tuple[Row, ...]) -> tuple[Row, ...]:
    """Put rows in riding order."""
    return tuple(sorted(rows, key=lambda row: (mark_m(row.feature), row.feature.number)))


def split_up(
    sheet: CardInput, rows: tuple[Row, ...]
) -> tuple[CardInput, tuple[CourseFeature, ...]]:
    """Give the card with only the features of these rows, numbered as they are, and the others.

    ``rows`` are those before they were numbered.
    """
    listed = {row.feature.number for row in rows}
    features = tuple(row.feature for row in numbered(rows))
    others = tuple(f for f in sheet.course.features if f.number not in listed)
    return replace(sheet, course=replace(sheet.course, features=features)), others
