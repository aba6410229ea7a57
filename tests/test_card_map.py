"""Map windows, arrows and table room by themselves."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from card_help import course, ring, sheet
from loopwright.card import palette
from loopwright.card.boxes import Box, columns
from loopwright.card.contents import content_for
from loopwright.card.furniture import furniture_box
from loopwright.card.map_marks import (
    WORTH_TURNING,
    arrow_marks,
    closely,
    gate_ends,
    map_marks,
    turned,
    turned_window_on,
    window_on,
)
from loopwright.card.table_plan import TableRoom, plan_table
from loopwright.card.table_rows import table_for
from loopwright.model.picture import Line, Shape

BOX = Box(left=10, top=20, width=120, height=70)
MARGIN = 8.0


@given(st.integers(0, 5000), st.floats(0.05, 20))
@settings(max_examples=60, deadline=None)
def test_a_window_shows_everything_inside_its_margin(seed: int, squeeze: float) -> None:
    xy = ring(seed, step_m=40) * np.array((squeeze, 1.0)) + np.array((4e3, -7e3))
    for window in (
        window_on(xy, BOX, margin_mm=MARGIN),
        turned_window_on(xy, BOX, margin_mm=MARGIN),
    ):
        page = window.to_page(xy)
        assert (page >= (BOX.left + MARGIN - 1e-6, BOX.top + MARGIN - 1e-6)).all()
        assert (page <= (BOX.right - MARGIN + 1e-6, BOX.bottom - MARGIN + 1e-6)).all()


def test_lengths_on_the_page_follow_the_scale_whatever_the_turn() -> None:
    xy = ring(3) * np.array((0.2, 1.0))
    window = turned_window_on(xy, BOX, margin_mm=MARGIN)
    assert window.turn_rad != 0
    ground = np.hypot(*(xy[50] - xy[200]))
    page = window.to_page(xy[[50, 200]])
    assert np.hypot(*(page[0] - page[1])) == pytest.approx(ground * window.mm_per_m)


def test_north_is_up_unless_turning_is_worth_it() -> None:
    wide, tall = ring(3) * np.array((2.0, 1.0)), ring(3) * np.array((0.3, 1.0))
    assert turned_window_on(wide, BOX, margin_mm=MARGIN).turn_rad == 0.0
    flat, turned_flat = (
        make(tall, BOX, margin_mm=MARGIN) for make in (window_on, turned_window_on)
    )
    assert turned_flat.mm_per_m > WORTH_TURNING * flat.mm_per_m
    assert abs(turned_flat.turn_rad) <= np.pi / 2 + 1e-9  # north stays in the upper half


def test_north_up_means_north_is_up_and_east_is_right() -> None:
    window = window_on(np.array([(0.0, 0.0), (1000.0, 500.0)]), BOX, margin_mm=MARGIN)
    south_west, north_east = window.to_page(np.array([(0.0, 0.0), (1000.0, 500.0)]))
    assert north_east[0] > south_west[0]
    assert north_east[1] < south_west[1]


def test_turning_is_anticlockwise() -> None:
    assert turned(np.array([(1.0, 0.0)]), np.pi / 2)[0] == pytest.approx((0.0, 1.0))


@pytest.mark.parametrize("xy", [np.zeros((0, 2)), np.zeros((1, 2)), np.full((3, 2), np.nan)])
def test_a_window_on_nothing_is_finite(
    xy: np.ndarray[tuple[int, int], np.dtype[np.float64]],
) -> None:
    window = window_on(xy, BOX, margin_mm=MARGIN)
    assert np.isfinite((window.east, window.north, window.mm_per_m)).all()


def test_arrows_point_the_way_it_is_ridden() -> None:
    page = np.column_stack((np.linspace(15, 125, 200), np.full(200, 50.0)))
    for line, way in ((page, 1), (page[::-1], -1)):
        heads = arrow_marks(line, box=BOX, theme=palette.LIGHT)
        assert len(heads) >= 2
        for head in heads:
            assert isinstance(head, Shape)
            tip, middle = head.points[0, 0], head.points[:, 0].mean()
            assert np.sign(tip - middle) == way


def test_too_short_a_line_has_no_arrows_and_no_points_have_none_between() -> None:
    dot = np.array([(50.0, 50.0), (51.0, 50.0)])
    assert arrow_marks(dot, box=BOX, theme=palette.LIGHT) == ()
    assert len(closely(dot[:1])) == 1


def test_the_gate_stands_across_the_line() -> None:
    page = np.column_stack((np.linspace(20, 40, 9), np.linspace(30, 50, 9)))
    ends = gate_ends(page, size=4.0)
    along = page[1] - page[0]
    assert float((ends[1] - ends[0]) @ along) == pytest.approx(0, abs=1e-9)
    assert ends.mean(axis=0) == pytest.approx(page[0])


def test_lines_are_cut_at_the_frame_and_short_ones_left_out() -> None:
    window = window_on(ring(2), BOX, margin_mm=MARGIN)
    marks = map_marks(ring(2), window, background=(ring(2) * 9, np.zeros((1, 2))))
    trails = [m for m in marks if isinstance(m, Line) and m.layer == "trails"]
    for mark in trails:
        assert (mark.points >= (BOX.left, BOX.top)).all()
        assert (mark.points <= (BOX.right, BOX.bottom)).all()


def test_north_and_scale_take_the_emptiest_corner() -> None:
    everywhere_but_low_right = np.array([(12.0, 22.0), (128.0, 22.0), (12.0, 88.0)])
    corner = furniture_box(everywhere_but_low_right, BOX)
    assert (corner.right, corner.bottom) == (BOX.right, BOX.bottom)


def test_columns_share_the_width() -> None:
    parts = columns(BOX, 3, gap=6.0)
    assert sum(part.width for part in parts) + 12 == pytest.approx(BOX.width)
    assert parts[-1].right == pytest.approx(BOX.right)


@pytest.mark.parametrize("height", [0.0, 4.0, 9.0, 20.0, 60.0])
@pytest.mark.parametrize("width", [5.0, 30.0, 60.0, 180.0])
def test_a_table_never_takes_more_than_its_room(width: float, height: float) -> None:
    given_sheet = sheet(course=course(7, features=25))
    table = table_for(given_sheet, content_for(given_sheet))
    room = TableRoom(width=width, height=height, most_mm=3.5, least_mm=2.75, most_rows=40)
    plan = plan_table(table, given_sheet, room)
    assert len(plan.rows) + plan.left_out == 25
    if plan.rows:
        assert plan.height <= height
        assert 2.75 <= plan.size <= 3.5
    numbers = [row.feature.number for row in plan.rows]
    assert numbers == sorted(numbers)
