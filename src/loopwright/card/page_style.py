"""Sizes of the pages a card is laid out on.

Text sizes are em heights in millimetres; one point is 0.3528 mm. Rows a rider reads on the way have
9 points and more on A5 (8 at the least), 8 and more on A4; nothing is under 7. Noto Sans has an
x-height of 0.536 em, so 9 points are 1.7 mm: read at full speed up to half a metre away, 11 points
up to 0.6 m, by the 0.2 degrees of Legge and Bigelow 2011, doi 10.1167/11.5.8.
"""

from __future__ import annotations

from dataclasses import dataclass

POINT_MM = 25.4 / 72


@dataclass(frozen=True, slots=True, kw_only=True)
class PageStyle:
    """Sizes of one page in millimetres; text sizes are em heights.

    ``back`` are the least and most height of the rows on a second page, which is used when the
    rows find no room at ``table_least`` on the first; None has no second page.
    """

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
    targets: int
    brief: bool = False
    back: tuple[float, float] | None = None


MOST_ROWS = 40
A4 = PageStyle(
    width=210.0, height=297.0, margin=11.0, gap=4.2, title=9.0, body=3.5, code=22.0, value=6.6,
    small=2.65, profile=36.0, side=52.0, map_least=76.0, table_most=11 * POINT_MM,
    table_least=8 * POINT_MM, number=2.2, targets=2,
)  # fmt: skip
A5 = PageStyle(
    width=148.0, height=210.0, margin=8.0, gap=2.6, title=6.6, body=9 * POINT_MM, code=17.0,
    value=5.0, small=2.5, profile=29.0, side=43.0, map_least=50.0, table_most=11 * POINT_MM,
    table_least=9 * POINT_MM, number=2.0, targets=2, brief=True,
    back=(8 * POINT_MM, 12 * POINT_MM),
)  # fmt: skip
