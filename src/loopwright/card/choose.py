"""Which features a card numbers.

Gets what a card is made from and the rows of its table; gives the features listed and the others.
Promises: a feature keeps the number it has everywhere else; one that is not listed shows none.
"""

from __future__ import annotations

from dataclasses import replace

from loopwright.card.sheet import CardInput
from loopwright.card.table_rows import Row
from loopwright.model.course import CourseFeature


def split_up(
    sheet: CardInput, rows: tuple[Row, ...]
) -> tuple[CardInput, tuple[CourseFeature, ...]]:
    """Give the card with only the features of these rows, and the other features."""
    listed = {row.feature.number for row in rows}
    features = tuple(f for f in sheet.course.features if f.number in listed)
    others = tuple(f for f in sheet.course.features if f.number not in listed)
    return replace(sheet, course=replace(sheet.course, features=features)), others
